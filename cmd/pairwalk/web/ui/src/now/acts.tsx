// What can be recorded, one form an act. Each form puts its entry in the outbox and
// calls done at once: the shell says how it went, and offers to take it back.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Device, Logged } from '../api'
import * as say from '../entries'
import { record, said } from '../outbox'
import { Cautions, Choice, Field, nameOf, Speaker, speakerReady, useDraft } from '../parts/form'
import { noSerial, SerialField, type SerialValue } from '../parts/serial'
import { send } from '../request'
import { hello } from '../state'
import { has, t, type Key } from '../words'

export interface ActProps {
  of: string // class:id
  device?: Device
  how?: string
  done: () => void
}

// word is the words for a value the log knows, or the value itself.
export const word = (family: string, value: string): string => {
  const key = `${family}.${value}`
  return has(key) ? t(key) : value
}

// put records entries and closes the form; a refusal shows in the strip.
function put(entries: say.NewEntry[], words: string, done: () => void, clear?: () => void): void {
  record(entries, words).catch(() => undefined)
  clear?.()
  done()
}

const tags = (text: string): string[] => text.split(/[\s,;]+/).filter(Boolean)

export function Pair({ of, device, how, done }: ActProps): JSX.Element {
  const tag = nameOf(of)
  const [serial, setSerial, clear] = useDraft<SerialValue>(`pair.${tag}`, noSerial)
  const [open, setOpen] = useState<'' | 'refused' | 'skipped'>('')
  const hub = device?.hub ?? ''
  const way = how || device?.how || ''
  const pair = (): void => {
    const entries = [say.paired(tag, hub, serial.text.trim(), way)]
    if (serial.text && (serial.label || serial.source === 'scan')) entries.unshift(say.fitted(tag, serial.text.trim(), serial.source, serial.label))
    put(entries, t('say.paired', { tag }), done, clear)
  }
  return (
    <form class="stack now-pair" onSubmit={(e) => { e.preventDefault(); if (speakerReady()) pair() }}>
      <SerialField value={serial} onChange={setSerial} />
      <Speaker />
      <button type="submit" class="act">{t('now.done.pair')}</button>
      <div class="now-two">
        <button type="button" class="big" aria-expanded={open === 'refused'} onClick={() => setOpen(open === 'refused' ? '' : 'refused')}>{t('now.refused')} …</button>
        <button type="button" class="big" aria-expanded={open === 'skipped'} onClick={() => setOpen(open === 'skipped' ? '' : 'skipped')}>{t('now.skip')} …</button>
      </div>
      {open === 'refused' && <Refuse of={of} done={done} />}
      {open === 'skipped' && <Skip of={of} done={done} />}
      <p class="quiet">{t('now.stay')}</p>
    </form>
  )
}

// Refuse and Skip record with one tap on the reason.
export function Refuse({ of, done }: ActProps): JSX.Element {
  const tag = nameOf(of)
  const [note, setNote, clear] = useDraft(`refuse.${tag}`, '')
  return (
    <div class="stack now-why">
      <p>{t('now.checklist')}</p>
      <Reasons title={t('now.refused.why')} values={hello.value!.refused} family="refused"
        pick={(why) => put([say.refused(tag, why, note)], t('say.refused', { tag, why: word('refused', why) }), done, clear)} />
      <Field label={t('note')} value={note} onInput={setNote} />
      <Speaker />
    </div>
  )
}

export function Skip({ of, done }: ActProps): JSX.Element {
  const tag = nameOf(of)
  const [note, setNote, clear] = useDraft(`skip.${tag}`, '')
  return (
    <div class="stack now-why">
      <Reasons title={t('now.skip.why')} values={hello.value!.skipped} family="skipped"
        pick={(why) => put([say.skipped(tag, why, note)], t('say.skipped', { tag, why: word('skipped', why) }), done, clear)} />
      <Field label={t('note')} value={note} onInput={setNote} />
      <Speaker />
    </div>
  )
}

function Reasons({ title, values, family, pick }: { title: string; values: string[]; family: string; pick: (v: string) => void }): JSX.Element {
  return (
    <div role="group" aria-label={title} class="now-reasons">
      <p><b>{title}</b></p>
      {values.map((v) => <button key={v} type="button" class="big" onClick={() => { if (speakerReady()) pick(v) }}>{word(family, v)}</button>)}
    </div>
  )
}

interface Line { name: string; label: Key; hint?: Key; required?: boolean; lines?: number; first?: string }

// Simple is a form of text fields and one button.
function Simple({ of, form, fields, button, cautions, make, words, done }: {
  of: string; form: string; fields: Line[]; button: string; cautions?: (string | undefined)[]
  make: (v: Record<string, string>) => say.NewEntry[]; words: (v: Record<string, string>) => string; done: () => void
}): JSX.Element {
  const first = Object.fromEntries(fields.map((f) => [f.name, f.first ?? '']))
  const [value, setValue, clear] = useDraft<Record<string, string>>(`${form}.${of}`, first)
  return (
    <form class="stack" onSubmit={(e) => { e.preventDefault(); if (speakerReady()) put(make(value), words(value), done, clear) }}>
      <Cautions words={cautions ?? []} />
      {fields.map((f) => (
        <Field key={f.name} label={t(f.label)} hint={f.hint ? t(f.hint) : undefined} required={f.required} lines={f.lines}
          value={value[f.name] ?? ''} onInput={(v) => setValue({ ...value, [f.name]: v })} />
      ))}
      <Speaker />
      <button type="submit" class="act">{button}</button>
    </form>
  )
}

export function Fit({ of, done }: ActProps): JSX.Element {
  const tag = nameOf(of)
  const [serial, setSerial, clear] = useDraft<SerialValue>(`fit.${tag}`, noSerial)
  const fit = (): void => put([say.fitted(tag, serial.text.trim(), serial.source, serial.label)], t('say.fitted', { tag, serial: serial.text }), done, clear)
  return (
    <form class="stack" onSubmit={(e) => { e.preventDefault(); if (serial.text.trim() && speakerReady()) fit() }}>
      <SerialField value={serial} onChange={setSerial} />
      <Speaker />
      <button type="submit" class="act">{t('now.done.record')}</button>
    </form>
  )
}

export function Ready({ of, done }: ActProps): JSX.Element {
  const hub = nameOf(of)
  const [program, setProgram, clear] = useDraft(`ready.${hub}`, { program: '', channel: '' })
  const entries = (): say.NewEntry[] => [
    ...(program.channel ? [say.hubChannel(hub, Number(program.channel))] : []),
    ...(program.program ? [say.hubLoaded(hub, program.program)] : []),
    say.hubReady(hub),
  ]
  return (
    <form class="stack" onSubmit={(e) => { e.preventDefault(); if (speakerReady()) put(entries(), t('say.ready', { hub }), done, clear) }}>
      <Field label={t('now.ready.channel')} inputMode="numeric" value={program.channel} onInput={(channel) => setProgram({ ...program, channel: channel.replace(/\D/g, '') })} />
      <Field label={t('now.ready.program')} value={program.program} onInput={(p) => setProgram({ ...program, program: p })} />
      <Speaker />
      <button type="submit" class="act">{t('now.ready.done')}</button>
    </form>
  )
}

export function Push({ of, program = '', done }: ActProps & { program?: string }): JSX.Element {
  const hub = nameOf(of)
  const [failed, setFailed] = useState(false)
  return (
    <div class="stack">
      <Simple of={of} form="push" done={done} cautions={[hello.value!.cautions.push]} button={t('now.push.done')}
        fields={[{ name: 'program', label: 'now.push.program', required: true, first: program }, { name: 'missed', label: 'now.push.missed', hint: 'now.push.missed.hint' }]}
        make={(v) => [say.pushed(hub, (v.program ?? '').trim(), tags(v.missed ?? ''))]} words={() => t('say.pushed', { hub })} />
      <button type="button" class="big" aria-expanded={failed} onClick={() => setFailed(!failed)}>{t('now.push.failed')} …</button>
      {failed && <PushFailed of={of} done={done} />}
    </div>
  )
}

export const PushFailed = ({ of, done }: ActProps): JSX.Element => (
  <Simple of={of} form="pushfailed" done={done} button={t('now.done.record')} fields={[{ name: 'why', label: 'why', required: true }]}
    make={(v) => [say.pushFailed(nameOf(of), v.why!)]} words={() => t('say.pushfailed', { hub: nameOf(of) })} />
)

// Answers is the check of one device: does it answer its hub?
export function Answers({ of, device, done }: ActProps): JSX.Element {
  const tag = nameOf(of)
  return (
    <div class="stack">
      <Speaker />
      <button type="button" class="act" onClick={() => { if (speakerReady()) put([say.heard(tag, device?.hub ?? '')], t('say.heard', { tag }), done) }}>{t('now.check.heard')}</button>
      <button type="button" class="big" onClick={() => { if (speakerReady()) put([say.check(of, 'answer', false), say.fault(of, t('now.check.symptom'), 'major')], t('say.fault', { of: tag }), done) }}>{t('now.check.silent')}</button>
    </div>
  )
}

export function Test({ of, done }: ActProps): JSX.Element {
  const none = { test: '', reading: '', instrument: '', limit: '', note: '' }
  const [v, setV, clear] = useDraft(`test.${of}`, none)
  const tell = (pass: boolean): void => {
    if (v.test && speakerReady()) put([say.check(of, v.test, pass, v.reading, v.instrument, v.limit, v.note)], t('say.check', { of: nameOf(of) }), done, clear)
  }
  return (
    <div class="stack">
      <Cautions words={[hello.value!.cautions.push]} />
      <Choice label={t('now.check.test')} options={hello.value!.tests} value={v.test} onPick={(test) => setV({ ...v, test })} words={(x) => word('test', x)} />
      <Field label={t('now.check.reading')} value={v.reading} onInput={(reading) => setV({ ...v, reading })} />
      <Field label={t('now.check.instrument')} value={v.instrument} onInput={(instrument) => setV({ ...v, instrument })} />
      <Field label={t('now.check.limit')} value={v.limit} onInput={(limit) => setV({ ...v, limit })} />
      <Field label={t('note')} value={v.note} onInput={(note) => setV({ ...v, note })} />
      <Speaker />
      <div class="now-two">
        <button type="button" class="act" onClick={() => tell(true)}>{t('now.check.room')}</button>
        <button type="button" class="big" onClick={() => tell(false)}>{t('now.check.failed')}</button>
      </div>
    </div>
  )
}

export function Fault({ of, done }: ActProps): JSX.Element {
  const [v, setV, clear] = useDraft(`fault.${of}`, { symptom: '', severity: 'major', trade: '', owner: '' })
  const tell = (): void => put([say.fault(of, v.symptom, v.severity, v.trade, v.owner)], t('say.fault', { of: nameOf(of) }), done, clear)
  return (
    <form class="stack" onSubmit={(e) => { e.preventDefault(); if (speakerReady()) tell() }}>
      <Cautions words={[hello.value!.cautions.mains]} />
      <Field label={t('subject.symptom')} value={v.symptom} required lines={2} onInput={(symptom) => setV({ ...v, symptom })} />
      <Choice label={t('subject.severity')} options={hello.value!.severities} value={v.severity} onPick={(severity) => setV({ ...v, severity })} words={(x) => word('severity', x)} />
      <Field label={t('subject.trade')} value={v.trade} onInput={(trade) => setV({ ...v, trade })} />
      <Field label={t('subject.owner')} value={v.owner} onInput={(owner) => setV({ ...v, owner })} />
      <Speaker />
      <button type="submit" class="act">{t('now.done.record')}</button>
    </form>
  )
}

// Photo keeps a picture beside the log.
export function Photo({ of, done }: ActProps): JSX.Element {
  const [caption, setCaption] = useState('')
  const [problem, setProblem] = useState('')
  const take = (file: File | undefined): void => {
    if (!file || !speakerReady()) return
    send<Logged>('picture', file, { subject: of, caption }).then(
      (logged) => {
        said.value = { words: t('say.photo', { of: nameOf(of) }), logged, at: Date.now() }
        done()
      },
      (e: Error) => setProblem(e.message),
    )
  }
  return (
    <div class="stack">
      <p>{t('subject.photo.secret')}</p>
      <Field label={t('subject.photo.caption')} value={caption} onInput={setCaption} />
      <Speaker />
      <label class="button act">{t('subject.photo.file')}<input class="hidden" type="file" accept="image/*" onChange={(e) => take(e.currentTarget.files?.[0])} /></label>
      {problem && <p role="alert" class="bad">{problem}</p>}
    </div>
  )
}

const cautions = (): { mains: string; hold: string; power: string } => hello.value!.cautions

export const Note = ({ of, done }: ActProps): JSX.Element => (
  <Simple of={of} form="note" done={done} button={t('now.done.record')} fields={[{ name: 'text', label: 'note', required: true, lines: 3 }]}
    make={(v) => [say.note(of, v.text!)]} words={() => t('say.note', { of: nameOf(of) })} />
)
export const Unpair = ({ of, done }: ActProps): JSX.Element => (
  <Simple of={of} form="unpair" done={done} button={t('now.done.record')} fields={[{ name: 'why', label: 'why', required: true }]}
    make={(v) => [say.unpaired(nameOf(of), v.why!)]} words={() => t('say.unpaired', { tag: nameOf(of) })} />
)
export const Replace = ({ of, device, done }: ActProps): JSX.Element => (
  <Simple of={of} form="replace" done={done} cautions={[cautions().mains]} button={t('now.done.record')}
    fields={[{ name: 'serial', label: 'subject.newserial', required: true }, { name: 'why', label: 'why', required: true }]}
    make={(v) => [say.replaced(nameOf(of), device?.serial ?? '', v.serial!.trim(), v.why!)]} words={() => t('say.replaced', { tag: nameOf(of) })} />
)
export const HoldIt = ({ of, done }: ActProps): JSX.Element => (
  <Simple of={of} form="hold" done={done} cautions={[cautions().hold]} button={t('now.done.record')}
    fields={[{ name: 'why', label: 'why', required: true }, { name: 'who', label: 'subject.who' }]}
    make={(v) => [say.hold(of, v.why!, v.who)]} words={() => t('say.hold', { of: nameOf(of) })} />
)
export const LiftIt = ({ of, done }: ActProps): JSX.Element => (
  <Simple of={of} form="lift" done={done} cautions={[cautions().hold]} button={t('now.lift')} fields={[{ name: 'note', label: 'note' }]}
    make={(v) => [say.lift(of, v.note)]} words={() => t('say.lifted', { of: nameOf(of) })} />
)
export const PowerOff = ({ of, done }: ActProps): JSX.Element => (
  <Simple of={of} form="off" done={done} cautions={[cautions().power]} button={t('now.power.off')}
    fields={of.startsWith('circuit:') ? [{ name: 'dark', label: 'now.power.dark', hint: 'now.push.missed.hint' }] : []}
    make={(v) => [say.powerOff(of, tags(v.dark ?? ''))]} words={() => t('say.off', { of: nameOf(of) })} />
)
export const PowerOn = ({ of, done }: ActProps): JSX.Element => (
  <Simple of={of} form="on" done={done} cautions={[cautions().power]} button={t('now.power.on')} fields={[]}
    make={() => [say.powerOn(of)]} words={() => t('say.on', { of: nameOf(of) })} />
)
export const Lost = ({ of, done }: ActProps): JSX.Element => (
  <Simple of={of} form="lost" done={done} button={t('now.ready.lost')} fields={[{ name: 'why', label: 'why', required: true }]}
    make={(v) => [say.hubLost(nameOf(of), v.why!)]} words={() => t('say.lost', { hub: nameOf(of) })} />
)
export const Loaded = ({ of, done }: ActProps): JSX.Element => (
  <Simple of={of} form="loaded" done={done} button={t('now.done.record')} fields={[{ name: 'program', label: 'now.push.program', required: true }]}
    make={(v) => [say.hubLoaded(nameOf(of), v.program!.trim())]} words={(v) => t('say.loaded', { hub: nameOf(of), program: v.program! })} />
)
export const Channel = ({ of, done }: ActProps): JSX.Element => (
  <Simple of={of} form="channel" done={done} button={t('now.done.record')} fields={[{ name: 'channel', label: 'now.ready.channel', required: true }]}
    make={(v) => [say.hubChannel(nameOf(of), Number(v.channel))]} words={(v) => t('say.channel', { hub: nameOf(of), channel: v.channel! })} />
)
export const Signed = ({ of, done, scope = '' }: ActProps & { scope?: string }): JSX.Element => (
  <Simple of={of} form="signed" done={done} button={t('now.done.record')}
    fields={[{ name: 'scope', label: 'subject.scope', required: true, first: scope }, { name: 'signer', label: 'subject.signer', required: true, first: hello.value!.me.name }, { name: 'as', label: 'subject.as', required: true }]}
    make={(v) => [say.signed(of, v.scope!, v.signer!, v.as!)]} words={() => t('say.signed', { of: nameOf(of) })} />
)
