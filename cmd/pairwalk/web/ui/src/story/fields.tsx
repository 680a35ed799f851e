// The fields of a late entry, each as it is best asked.
import type { JSX } from 'preact'
import { useId, useState } from 'preact/hooks'
import { Choice, Field, nameOf } from '../parts/form'
import { SerialField } from '../parts/serial'
import { hello } from '../state'
import { has, t, type Key } from '../words'
import { CLASSES, everything, meant, suggest, type Names } from '../names'
import type { FieldName, Values } from './acts'
import { reason } from './say'

const HOWS = ['button', 'broadcast', 'label'] as const

interface Props { name: FieldName; values: Values; need: boolean; names: Names; set: (v: Values) => void }

export function ActField({ name, values, need, names, set }: Props): JSX.Element {
  const value = values[name] ?? ''
  const put = (v: string): void => set({ ...values, [name]: v })
  const h = hello.value!
  const label = t(`story.late.${name}` as Key) + (need ? '' : ` (${t('story.optional')})`)
  const hintKey = `story.late.${name}.hint`
  const hint = has(hintKey) ? t(hintKey) : undefined
  switch (name) {
    case 'device':
      return <Field label={label} value={value} list={suggest(value, names.tags)} required={need} onInput={(v) => set({ ...values, device: v, hub: names.devices.get(v.trim())?.hub || values.hub })} />
    case 'a': case 'b':
      return <Field label={label} hint={hint} value={value} list={suggest(value, [...names.hubs, ...names.tags])} required={need} onInput={put} />
    case 'hub':
      return names.hubs.length > 0 && names.hubs.length <= 8
        ? <Choice label={label} options={names.hubs} value={value} onPick={put} words={(x) => x} />
        : <Field label={label} value={value} list={suggest(value, names.hubs)} required={need} onInput={put} />
    case 'serial':
      return <SerialField value={{ text: value, source: values.source ?? 'typed', label: values.label ?? '' }} onChange={(s) => set({ ...values, serial: s.text, source: s.source, label: s.label })} />
    case 'how':
      return <Choice label={label} options={HOWS} value={value as ''} onPick={(v) => put(v === value ? '' : v)} words={(x) => t(`how.${x}`)} />
    case 'refused':
      return <Choice label={label} options={h.refused} value={value} onPick={put} words={(x) => reason('refused', x)} />
    case 'skipped':
      return <Choice label={label} options={h.skipped} value={value} onPick={put} words={(x) => reason('skipped', x)} />
    case 'severity':
      return <Choice label={label} options={h.severities} value={value} onPick={put} words={(x) => reason('severity', x)} />
    case 'test':
      return <Choice label={label} options={h.tests} value={value} onPick={put} words={(x) => reason('test', x)} />
    case 'pass':
      return <Choice label={label} options={['yes', 'no']} value={value} onPick={put} words={(x) => t(x === 'yes' ? 'story.passed' : 'story.failed')} />
    case 'radio':
      return <Choice label={label} options={['mesh', 'star']} value={value || 'mesh'} onPick={put} words={(x) => x} />
    case 'of': case 'powered':
      return <SubjectField label={label} value={value} names={names} list={name === 'of' ? everything(names) : [...names.circuits, ...names.tags]} classes={name === 'of' ? CLASSES : ['circuit', 'device']} onChange={put} />
    case 'symptom': case 'text': case 'note':
      return <Field label={label} value={value} lines={2} required={need} onInput={put} />
    case 'channel': case 'rssi': case 'pdr': case 'lqi':
      return <Field label={label} hint={hint} value={value} inputMode={name === 'rssi' ? 'text' : 'decimal'} required={need} onInput={put} />
    default:
      return <Field label={label} hint={hint} value={value} required={need} onInput={put} />
  }
}

// NotListed says which devices are on no schedule, and where they are listed.
export function NotListed({ subjects, names }: { subjects: string[]; names: Names }): JSX.Element | null {
  const found = [...new Set(subjects)].filter((s) => /^device:./.test(s) && names.devices.size > 0 && !names.devices.has(nameOf(s)))
  if (!found.length) return null
  return <>{found.map((s) => <p key={s} class="story-note">{t('story.unlisted', { tag: nameOf(s) })} <a class="story-link" href={`#/now?subject=${encodeURIComponent(s)}`}>{t('story.unlisted.list')}</a></p>)}</>
}

// SubjectField asks what something is about. Its value is class:id; a name that
// means two things, or that nobody knows here, is asked about.
export function SubjectField({ label, value, names, list, classes, onChange, hint }: {
  label: string; value: string; names: Names; list: string[]; classes: readonly string[]; onChange: (v: string) => void; hint?: string
}): JSX.Element {
  const id = useId()
  const [typed, setTyped] = useState(nameOf(value))
  const type = (text: string): void => {
    setTyped(text)
    const found = meant(text, names).filter((s) => classes.includes(s.slice(0, s.indexOf(':'))) || s.startsWith('site:'))
    onChange(text.trim() === '' ? '' : (found[0] ?? `${classes[0]}:${text.trim()}`))
  }
  const found = meant(typed, names)
  const unsure = typed.trim() !== '' && found.length !== 1
  const cls = value.slice(0, value.indexOf(':'))
  return (
    <div class="stack">
      <Field label={label} hint={hint} value={typed} list={suggest(typed, list)} onInput={type} />
      {unsure && (
        <div class="field">
          <label for={id}>{t('story.what.is', { name: typed.trim() })}</label>
          <select id={id} value={cls} onChange={(e) => onChange(`${e.currentTarget.value}:${typed.trim()}`)}>
            {classes.map((c) => <option key={c} value={c}>{t(`story.class.${c}` as Key)}</option>)}
          </select>
        </div>
      )}
    </div>
  )
}
