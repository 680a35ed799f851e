// One row of the field sheet: a line of a table on a desk, a small card on a phone.
import type { JSX } from 'preact'
import { useMemo } from 'preact/hooks'
import { hello, language } from '../state'
import { Cautions } from '../parts/form'
import { t, type Key } from '../words'
import { suggest, type Names } from '../names'
import { reason } from './say'
import { COLUMNS, isEmpty, VERBS, type Column, type Row } from './sheetrows'

interface Props {
  row: Row; i: number; names: Names; problems: string[]; hints: string[]
  onChange: (r: Row) => void; onPaste: (c: Column, text: string) => void; onMove: (to: number, c: Column) => void; onDrop: () => void
}

export function SheetRow({ row, i, names, problems, hints, onChange, onPaste, onMove, onDrop }: Props): JSX.Element {
  const device = names.devices.get(row.tag.trim())
  const label = (c: Column): string => t('story.sheet.cell', { n: i + 1, column: t(`story.sheet.${c}`) })
  const common = (c: Column) => ({
    'data-column': c, 'aria-label': label(c), value: row[c],
    'aria-invalid': problems.length > 0 && problems.some((p) => p.startsWith(`${c}:`)) ? true : undefined,
    'aria-describedby': problems.length ? `story-row-${i}` : undefined,
    onKeyDown: (e: KeyboardEvent) => keys(e, c),
  })
  const keys = (e: KeyboardEvent, c: Column): void => {
    const select = e.currentTarget instanceof HTMLSelectElement
    if (e.key === 'Enter' && !e.isComposing) {
      e.preventDefault()
      onMove(i + (e.shiftKey ? -1 : 1), 'tag')
    } else if (e.key === 'ArrowDown' && !select && c !== 'tag') {
      e.preventDefault()
      onMove(i + 1, c)
    } else if (e.key === 'ArrowUp' && !select && c !== 'tag' && i > 0) {
      e.preventDefault()
      onMove(i - 1, c)
    }
  }
  const paste = (e: ClipboardEvent, c: Column): void => {
    const text = e.clipboardData?.getData('text/plain') ?? ''
    if (!/[\t\n]/.test(text.trim())) return
    e.preventDefault()
    onPaste(c, text)
  }
  const typed = row.tag.trim() !== '' && !device
  return (
    <li class={`story-sheet-row${problems.length ? ' is-bad' : ''}`} data-row={i}>
      <span class="story-sheet-n num" aria-hidden="true">{i + 1}</span>
      {COLUMNS.map((c) => (
        <div key={c} class={`story-cell story-cell-${c}`}>
          <span class="story-cell-name" aria-hidden="true">{t(`story.sheet.${c}`)}</span>
          {c === 'what'
            ? <What {...common(c)} onInput={(what) => onChange({ ...row, what })} />
            : (
              <input
                {...common(c)} autocomplete="off" autocapitalize="off" spellcheck={false} enterKeyHint="next"
                list={c === 'tag' && typed ? `story-tags-${i}` : undefined}
                placeholder={c === 'when' ? '14:05' : undefined}
                onInput={(e) => onChange({ ...row, [c]: e.currentTarget.value })} onPaste={(e) => paste(e, c)}
              />
            )}
        </div>
      ))}
      {typed && <datalist id={`story-tags-${i}`}>{suggest(row.tag, names.tags, 12).map((x) => <option key={x} value={x} />)}</datalist>}
      <button type="button" class="plain story-sheet-drop" onClick={onDrop} disabled={isEmpty(row)} aria-label={t('story.sheet.drop', { n: i + 1 })}>{t('story.sheet.drop.short')}</button>
      {(problems.length > 0 || hints.length > 0 || device?.emergency) && (
        <div class="story-sheet-said" id={`story-row-${i}`}>
          {problems.map((p) => <p key={p} class="bad"><bdi>{p}</bdi></p>)}
          {hints.map((p) => <p key={p} class="quiet"><bdi>{p}</bdi></p>)}
          <Cautions words={[device?.emergency ? hello.value?.cautions.emergency : undefined]} />
        </div>
      )}
    </li>
  )
}

// What is chosen from a list; what a paste brought that is not in it stays as one
// more. The list is long and drawn once, not at every key pressed.
function What({ value, onInput, ...rest }: { value: string; onInput: (v: string) => void; [key: string]: unknown }): JSX.Element {
  const odd = value !== '' && !(VERBS as readonly string[]).includes(value.split(':')[0]!) ? value : ''
  const bare = ['refused', 'skipped', 'fault'].includes(value) ? value : ''
  const options = useMemo(() => whats(bare, odd), [language.value, bare, odd])
  return <select {...rest} value={value} onChange={(e) => onInput(e.currentTarget.value)}>{options}</select>
}

const FAMILY: Record<string, string> = { refused: 'refused', skipped: 'skipped', fault: 'severity' }

function whats(bare: string, odd: string): JSX.Element[] {
  const h = hello.value
  const reasons: Record<string, string[]> = { refused: h?.refused ?? [], skipped: h?.skipped ?? [], fault: h?.severities ?? [] }
  const out = [<option key="" value="">{t('story.sheet.what.none')}</option>]
  for (const v of VERBS) {
    const name = t(`story.verb.${v}` as Key)
    if (!reasons[v] || v === bare) out.push(<option key={v} value={v}>{name}</option>)
    for (const w of reasons[v] ?? []) out.push(<option key={`${v}:${w}`} value={`${v}:${w}`}>{`${name}: ${reason(FAMILY[v]!, w)}`}</option>)
  }
  if (odd) out.push(<option key={odd} value={odd}>{odd}</option>)
  return out
}
