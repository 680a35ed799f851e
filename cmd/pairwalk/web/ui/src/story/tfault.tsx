// Faults: what is wrong, whose work it is, and how it ended.
import type { JSX } from 'preact'
import { useEffect, useRef, useState } from 'preact/hooks'
import type { Entry } from '../api'
import type { FaultStory } from '../api_callback'
import * as entries from '../entries'
import type { NewEntry } from '../entries'
import { record } from '../outbox'
import { Cautions, Choice, Field, Speaker, speakerReady, useDraft } from '../parts/form'
import { hello } from '../state'
import { short } from '../times'
import { t, tn, type Key } from '../words'
import { AddPhoto, FaultHistory, FaultPhotos, Where } from './faultstory'
import { NotListed, SubjectField } from './fields'
import { findEntries } from './find'
import { CLASSES, emergency, everything, type Names } from '../names'
import { reason, subjectWords } from './say'
import { Subjects } from './tconflict'

type Way = '' | 'assign' | 'clear' | 'reopen'

// FaultCard is a fault with its whole story. It is open until it was cleared, and
// counts its days from the first finding.
export function FaultCard({ fault: f, names, asked, onOpen }: { fault: FaultStory; names: Names; asked?: boolean; onOpen: (e: Entry) => void }): JSX.Element {
  const [way, setWay] = useState<Way>('')
  const box = useRef<HTMLElement>(null)
  useEffect(() => {
    if (!asked) return
    box.current?.scrollIntoView({ block: 'start' })
    box.current?.focus()
  }, [asked])
  const open = f.state !== 'cleared'
  const show = async (ref: string): Promise<void> => {
    const [entry] = await findEntries([ref], f.subject).catch(() => [])
    if (entry) onOpen(entry)
  }
  const toggle = (to: Way): void => setWay(way === to ? '' : to)
  return (
    <article ref={box} tabIndex={-1} class={`card stack trouble-card trouble-${open ? f.severity : 'closed'}${asked ? ' is-asked' : ''}`} aria-label={f.symptom}>
      <h3>
        {open ? <b class="trouble-severity">{reason('severity', f.severity)}</b> : <span class="quiet">{t('trouble.fault.closed')}</span>} <Subjects of={[f.subject]} />
      </h3>
      <p><bdi>{f.symptom}</bdi></p>
      <p class="quiet">
        {t(`fault.state.${f.state}` as Key)} · {t('fault.found', { at: short(f.found_at) })} <bdi>{f.by}</bdi> · {tn('fault.age', f.age_days)}
        {' · '}{f.owner || f.trade ? <>{t('trouble.fault.with')} <bdi>{[f.owner, f.trade].filter(Boolean).join(', ')}</bdi></> : t('trouble.fault.nobody')}
      </p>
      <Where fault={f} />
      {open && f.action && <p>{t('fault.todo')} <bdi>{f.action}</bdi></p>}
      <Cautions words={[open ? emergency(f.subject, names) : undefined]} />
      <div class="row">
        {open && <button type="button" class="big" aria-expanded={way === 'assign'} onClick={() => toggle('assign')}>{t('trouble.fault.assign')}</button>}
        {open && <button type="button" class="big" aria-expanded={way === 'clear'} onClick={() => toggle('clear')}>{t('trouble.fault.clear')}</button>}
        {!open && <button type="button" class="big" aria-expanded={way === 'reopen'} onClick={() => toggle('reopen')}>{t('trouble.fault.reopen')}</button>}
        <button type="button" onClick={() => show(f.event)}>{t('trouble.entry')}</button>
        <AddPhoto of={f.subject} />
      </div>
      {way && <FaultForm way={way} fault={f} onDone={() => setWay('')} />}
      <FaultHistory fault={f} onShow={(ref) => void show(ref)} />
      <FaultPhotos fault={f} />
    </article>
  )
}

function FaultForm({ way, fault: f, onDone }: { way: Exclude<Way, ''>; fault: FaultStory; onDone: () => void }): JSX.Element {
  const [d, setD, forget] = useDraft(`fault.${way}.${f.id}`, { owner: '', trade: '', action: '' })
  const [problem, setProblem] = useState('')
  const name = subjectWords(f.subject)
  const [owner, trade, action] = [d.owner.trim(), d.trade.trim(), d.action.trim()]
  const make = (of: string): NewEntry => {
    if (way === 'assign') return entries.faultAssigned(of, trade, owner, action)
    return way === 'clear' ? entries.faultCleared(of, action) : entries.faultReopened(of, action)
  }
  const send = (): void => {
    const lacks = (way === 'assign' && !owner && !trade && !action) || (way === 'reopen' && !action)
    if (lacks) return setProblem(t(`trouble.fault.${way}.lacks` as Key))
    if (!speakerReady()) return setProblem(t('speaker.need'))
    const whom = [owner, trade].filter(Boolean).join(', ') || action
    record([make(f.event)], t(`trouble.fault.${way}.said` as Key, { name, symptom: f.symptom, whom })).catch(() => setD(d)) // kept, to be mended
    forget()
    onDone()
  }
  return (
    <form noValidate class="stack trouble-form" onSubmit={(e) => { e.preventDefault(); send() }}>
      {way === 'assign' && <Field label={t('trouble.fault.owner')} value={d.owner} onInput={(v) => setD({ ...d, owner: v })} />}
      {way === 'assign' && <Field label={t('trouble.fault.trade')} hint={t('trouble.fault.trade.hint')} value={d.trade} onInput={(v) => setD({ ...d, trade: v })} />}
      <Field label={t(`trouble.fault.${way}.action` as Key)} value={d.action} onInput={(v) => setD({ ...d, action: v })} />
      <Speaker />
      <Cautions words={way === 'clear' ? [hello.value?.cautions.mains] : []} />
      {problem && <p class="bad" role="alert">{problem}</p>}
      <div class="row">
        <button type="submit" class="act">{t('record')}</button>
        <button type="button" class="plain" onClick={onDone}>{t('cancel')}</button>
      </div>
    </form>
  )
}

const EMPTY = { of: '', symptom: '', severity: '', trade: '', owner: '' }

// FoundFault logs another fault.
export function FoundFault({ names, onDone }: { names: Names; onDone: () => void }): JSX.Element {
  const [d, setD, forget] = useDraft('fault.found', EMPTY)
  const [problem, setProblem] = useState('')
  const send = (): void => {
    if (!d.of || !d.symptom.trim() || !d.severity) return setProblem(t('trouble.found.lacks'))
    if (!speakerReady()) return setProblem(t('speaker.need'))
    record([entries.fault(d.of, d.symptom.trim(), d.severity, d.trade.trim(), d.owner.trim())], t('trouble.found.said', { name: subjectWords(d.of), symptom: d.symptom.trim() })).catch(() => setD(d)) // kept, to be mended
    forget()
    onDone()
  }
  return (
    <form noValidate class="card stack" onSubmit={(e) => { e.preventDefault(); send() }}>
      <h3>{t('trouble.found')}</h3>
      <SubjectField label={t('trouble.found.of')} value={d.of} names={names} list={everything(names)} classes={CLASSES} onChange={(of) => setD({ ...d, of })} />
      <Field label={t('trouble.found.symptom')} value={d.symptom} lines={2} onInput={(symptom) => setD({ ...d, symptom })} />
      <Choice label={t('trouble.found.severity')} options={hello.value?.severities ?? []} value={d.severity} onPick={(severity) => setD({ ...d, severity })} words={(x) => reason('severity', x)} />
      <Field label={`${t('trouble.fault.trade')} (${t('story.optional')})`} hint={t('trouble.fault.trade.hint')} value={d.trade} onInput={(trade) => setD({ ...d, trade })} />
      <Field label={`${t('trouble.fault.owner')} (${t('story.optional')})`} value={d.owner} onInput={(owner) => setD({ ...d, owner })} />
      <NotListed subjects={[d.of]} names={names} />
      <Speaker />
      <Cautions words={[hello.value?.cautions.mains, emergency(d.of, names)]} />
      {problem && <p class="bad" role="alert">{problem}</p>}
      <div class="row">
        <button type="submit" class="act">{t('record')}</button>
        <button type="button" class="plain" onClick={onDone}>{t('cancel')}</button>
      </div>
    </form>
  )
}
