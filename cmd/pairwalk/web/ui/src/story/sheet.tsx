// The field sheet: forty lines of paper at once. Enter goes to the next row, a
// paste out of a spreadsheet fills rows, and nothing is recorded before it has been
// looked over.
import type { JSX } from 'preact'
import { useRef, useState } from 'preact/hooks'
import type { Import } from '../api'
import { Cautions, Field, Speaker, speakerReady, useDraft } from '../parts/form'
import { said } from '../outbox'
import { post, Refused } from '../request'
import { hello, now, speaker } from '../state'
import { t, tn } from '../words'
import { type Names } from '../names'
import { SheetRow } from './sheetrow'
import { COLUMNS, emptyRow, isEmpty, pasted, problemsOf, sent, type Column, type Row } from './sheetrows'

interface Draft { day: string; rows: Row[] }

const FIRST = 5
const MOST = 400

const today = (): string => new Intl.DateTimeFormat('en-CA', { timeZone: hello.value?.site.zone || 'UTC' }).format(now.value)
const blank = (): Draft => ({ day: today(), rows: Array.from({ length: FIRST }, () => ({ ...emptyRow })) })

export function FieldSheet({ names }: { names: Names }): JSX.Element {
  const [d, setD, forget] = useDraft<Draft>('sheet', blank())
  const [looked, setLooked] = useState<{ doc: Import; at: number[] } | null>(null)
  const [problem, setProblem] = useState('')
  const [busy, setBusy] = useState(false)
  const grid = useRef<HTMLOListElement>(null)
  const filled = d.rows.map((r, i) => ({ r, i })).filter((x) => !isEmpty(x.r))
  const found = looked ? problemsOf([...looked.doc.problems], looked.at) : null
  const hints = looked ? problemsOf([...looked.doc.notes, ...looked.doc.flagged], looked.at) : null

  const setRows = (rows: Row[]): void => {
    const last = rows[rows.length - 1]
    const more = last && !isEmpty(last) && rows.length < MOST ? [{ ...emptyRow, what: last.what, when: '', by: last.by }] : []
    setD({ ...d, rows: [...rows, ...more] })
    setLooked(null)
  }
  const setRow = (i: number, row: Row): void => setRows(d.rows.map((r, k) => (k === i ? row : r)))
  const focus = (i: number, column: Column): void => {
    requestAnimationFrame(() => {
      const to = grid.current?.querySelector<HTMLElement>(`[data-row="${i}"] [data-column="${column}"]`)
      to?.focus()
      if (to instanceof HTMLInputElement) to.select()
    })
  }
  const paste = (i: number, column: Column, text: string): void => {
    const cells = pasted(text, column, { refused: hello.value?.refused ?? [], skipped: hello.value?.skipped ?? [], fault: hello.value?.severities ?? [] })
    const rows = [...d.rows]
    cells.slice(0, MOST - i).forEach((cell, k) => { rows[i + k] = { ...emptyRow, ...rows[i + k], ...cell } })
    setRows(rows)
    focus(Math.min(i + cells.length, rows.length - 1), 'tag')
  }
  // move goes to another row. The next one begins with what was done last.
  const move = (from: number, to: number, column: Column): void => {
    const like = { ...emptyRow, what: d.rows[from]!.what, by: d.rows[from]!.by }
    if (to >= d.rows.length) setRows([...d.rows, like])
    else if (to > from && isEmpty(d.rows[to]!) && !d.rows[to]!.what) setRow(to, like)
    focus(to, column)
  }
  const ask = async (dry: boolean, partial: boolean): Promise<void> => {
    setProblem('')
    setBusy(true)
    const by = hello.value?.beyond ? speaker.value : ''
    const rows = filled.map((x) => { const s = sent(x.r); return { ...s, by: s.by || by } })
    try {
      const doc = await post<Import>('fieldsheet', { rows, day: d.day, dry, partial })
      if (dry) {
        const at = filled.map((x) => x.i)
        setLooked({ doc, at })
        const first = Math.min(...problemsOf(doc.problems, at).rows.keys())
        if (Number.isFinite(first)) requestAnimationFrame(() => grid.current?.querySelector(`[data-row="${first}"]`)?.scrollIntoView({ block: 'center' }))
      }
      else {
        said.value = { words: tn('story.sheet.said', doc.taken), logged: { entries: [], flagged: doc.flagged, not_counted: [], cautions: [], again: false }, at: Date.now() }
        setLooked(null)
        keepBad(partial)
      }
    } catch (error) {
      setProblem(error instanceof Refused ? error.message : t('story.away'))
    }
    setBusy(false)
  }
  // keepBad leaves the rows that were not taken on the sheet, to be put right.
  const keepBad = (partial: boolean): void => {
    if (!partial || !found?.rows.size) forget()
    else setD({ ...d, rows: [...[...found.rows.keys()].map((i) => d.rows[i]!), { ...emptyRow }] })
  }
  const press = (dry: boolean, partial = false): void => {
    if (busy) return
    if (!filled.length) setProblem(t('story.sheet.none'))
    else if (!speakerReady()) setProblem(t('speaker.need'))
    else void ask(dry, partial)
  }
  const bad = found ? found.rows.size : 0
  const about = looked ? [...(found?.rest ?? []), ...(hints?.rest ?? []), ...looked.doc.lines] : []
  return (
    <div class="story-write story-sheet">
      <p><a class="story-link" href="#/story">{t('story.back')}</a></p>
      <h1>{t('story.sheet')}</h1>
      <p class="quiet">{t('story.sheet.hint')}</p>
      <div class="story-late-first"><Field label={t('story.sheet.day')} type="date" value={d.day} onInput={(day) => { setD({ ...d, day }); setLooked(null) }} /></div>
      <div class="story-sheet-heads" aria-hidden="true"><span /> {COLUMNS.map((c) => <span key={c}>{t(`story.sheet.${c}`)}</span>)} <span /></div>
      <ol ref={grid} class="story-sheet-rows">
        {d.rows.map((row, i) => (
          <SheetRow
            key={i} row={row} i={i} names={names}
            problems={found?.rows.get(i) ?? NONE} hints={hints?.rows.get(i) ?? NONE}
            onChange={(r) => setRow(i, r)} onPaste={(c, text) => paste(i, c, text)}
            onMove={(to, c) => move(i, Math.max(0, to), c)}
            onDrop={() => setRows(d.rows.length > 1 ? d.rows.filter((_, k) => k !== i) : [{ ...emptyRow }])}
          />
        ))}
      </ol>
      <div class="row">
        <button type="button" onClick={() => setD({ ...d, rows: [...d.rows, ...Array.from({ length: 10 }, () => ({ ...emptyRow }))] })}>{t('story.sheet.add')}</button>
        {filled.length > 0 && <button type="button" class="plain" onClick={() => { forget(); setLooked(null) }}>{t('story.sheet.clear')}</button>}
      </div>
      <div class="story-late-first"><Speaker /></div>
      <Cautions words={minded(filled.map((x) => x.r))} />
      {problem && <p class="bad" role="alert">{problem}</p>}
      {about.length > 0 && <div class="card stack">{about.map((line) => <p key={line}><bdi>{line}</bdi></p>)}</div>}
      <div class="row story-sheet-ends">
        <p role="status" class={bad ? 'bad' : 'good'}>{looked && <b>{bad ? tn('story.sheet.bad', bad) : tn('story.sheet.good', filled.length)}</b>}</p>
        {!looked && <button type="button" class="act" aria-disabled={busy} onClick={() => press(true)}>{filled.length ? tn('story.sheet.look', filled.length) : t('story.sheet.look')}</button>}
        {looked && !bad && <button type="button" class="act" aria-disabled={busy} onClick={() => press(false)}>{tn('story.sheet.record', filled.length)}</button>}
        {looked && bad > 0 && <button type="button" class="act" aria-disabled={busy} onClick={() => press(true)}>{t('story.sheet.again')}</button>}
        {looked && bad > 0 && bad < filled.length && <button type="button" class="big" onClick={() => press(false, true)}>{tn('story.sheet.partial', filled.length - bad)}</button>}
      </div>
    </div>
  )
}

const NONE: string[] = []

// minded is what to mind about what the rows tell of.
function minded(rows: Row[]): (string | undefined)[] {
  const c = hello.value?.cautions
  const has = (verb: RegExp): boolean => rows.some((r) => verb.test(r.what))
  return [has(/^(replaced|fault)/) ? c?.mains : undefined, has(/^power/) ? c?.power : undefined, has(/^hold/) ? c?.hold : undefined]
}
