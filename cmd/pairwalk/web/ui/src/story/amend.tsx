// What can be done about an entry: withdraw it, correct a detail, say that two
// devices were taken for each other, or log it again. Nothing is erased.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Entry, Logged } from '../api'
import { Field, Speaker, speakerReady, useDraft } from '../parts/form'
import { noSerial, SerialField, type SerialValue } from '../parts/serial'
import { record, said } from '../outbox'
import { post, Refused } from '../request'
import { hello } from '../state'
import { t } from '../words'
import { corrects, isField, stays } from './families'
import { names as namesNow, suggest } from '../names'
import { entryWords } from './say'

type Way = '' | 'void' | 'correct' | 'exchange'

export function Amend({ entry: e, onDone }: { entry: Entry; onDone: () => void }): JSX.Element {
  const [way, setWay] = useState<Way>('')
  const me = hello.value?.me
  if (stays(e.kind)) return <p class="quiet">{t('story.stays')}</p>
  if (e.withdrawn) return isField(e.kind) && e.body ? <Again entry={e} onDone={onDone} /> : <p class="quiet">{t('story.withdrawn.once')}</p>
  if (e.member !== me?.name && me?.role !== 'lead') return <p class="quiet">{t('story.theirs', { member: e.member })}</p>
  if (way === 'void') return <Withdraw entry={e} onDone={onDone} onBack={() => setWay('')} />
  if (way === 'correct') return <Correct entry={e} onDone={onDone} onBack={() => setWay('')} />
  if (way === 'exchange') return <Exchange entry={e} onDone={onDone} onBack={() => setWay('')} />
  const unit = /^device\.(paired|fitted|replaced)$/.test(e.kind)
  return (
    <div class="row">
      {corrects(e.kind).length > 0 && <button type="button" class="big" onClick={() => setWay('correct')}>{t('story.correct')}</button>}
      {unit && <button type="button" class="big" onClick={() => setWay('exchange')}>{t('story.exchange')}</button>}
      <button type="button" class="big" onClick={() => setWay('void')}>{t('story.void')}</button>
    </div>
  )
}

interface Form { entry: Entry; onDone: () => void; onBack: () => void }

// amend sends one of the three, says what came of it, and keeps what the process
// has against it, in its own words.
function useAmend(onDone: () => void): { problem: string; busy: boolean; amend: (path: string, doc: unknown, words: string) => Promise<void> } {
  const [problem, setProblem] = useState('')
  const [busy, setBusy] = useState(false)
  const amend = async (path: string, doc: unknown, words: string): Promise<void> => {
    if (!speakerReady()) return setProblem(t('speaker.need'))
    setProblem('')
    setBusy(true)
    try {
      const logged = await post<Logged>(path, doc)
      said.value = { words, logged: { ...logged, entries: [] }, at: Date.now() } // there is no plain way back: log it again
      onDone()
    } catch (error) {
      setProblem(error instanceof Refused ? error.message : t('story.away'))
      setBusy(false)
    }
  }
  return { problem, busy, amend }
}

function Ends({ problem, words, busy, onBack }: { problem: string; words: string; busy: boolean; onBack: () => void }): JSX.Element {
  return (
    <>
      {problem && <p class="bad" role="alert">{problem}</p>}
      <div class="row">
        <button type="submit" class="act" aria-disabled={busy}>{words}</button>
        <button type="button" class="plain" onClick={onBack}>{t('cancel')}</button>
      </div>
    </>
  )
}

function Withdraw({ entry: e, onDone, onBack }: Form): JSX.Element {
  const [note, setNote, forget] = useDraft(`void.${e.ref}`, '')
  const { problem, busy, amend } = useAmend(() => { forget(); onDone() })
  const send = (why: string): void => void amend('void', { ref: e.ref, why, note: note.trim() }, t('story.void.said', { words: entryWords(e) }))
  return (
    <div class="stack card">
      <h3>{t('story.void.why')}</h3>
      <Field label={t('note')} value={note} onInput={setNote} />
      <Speaker />
      {problem && <p class="bad" role="alert">{problem}</p>}
      <button type="button" class="big" onClick={() => { if (!busy) send('did-not-happen') }}>{t('story.void.button.did-not-happen')}</button>
      <button type="button" class="big" onClick={() => { if (!busy) send('wrong-detail') }}>{t('story.void.button.wrong-detail')}</button>
      <p class="quiet">{t('story.void.hint')}</p>
      <div><button type="button" class="plain" onClick={onBack}>{t('cancel')}</button></div>
    </div>
  )
}

function Correct({ entry: e, onDone, onBack }: Form): JSX.Element {
  const names = namesNow()
  const can = corrects(e.kind)
  const [d, setD, forget] = useDraft(`correct.${e.ref}`, { tag: '', serial: noSerial as SerialValue, hub: '', note: '' })
  const { problem, busy, amend } = useAmend(() => { forget(); onDone() })
  const was = (key: string): string => t('story.was', { x: String(e.body?.[key] ?? '') || t('none') })
  const send = (): void => void amend('correct', {
    ref: e.ref, tag: d.tag.trim(), serial: d.serial.text.trim(), hub: d.hub.trim(), note: d.note.trim(),
  }, t('story.correct.said', { words: entryWords(e) }))
  return (
    <form noValidate class="stack card" onSubmit={(x) => { x.preventDefault(); if (!busy) send() }}>
      <h3>{t('story.correct.what')}</h3>
      {can.includes('tag') && <Field label={t('story.field.device')} hint={was('device')} value={d.tag} list={suggest(d.tag, names.tags)} onInput={(tag) => setD({ ...d, tag })} />}
      {can.includes('serial') && <div class="field"><SerialField value={d.serial} onChange={(serial) => setD({ ...d, serial })} /><small>{was(e.kind === 'device.replaced' ? 'new' : 'serial')}</small></div>}
      {can.includes('hub') && <Field label={t('story.field.hub')} hint={was('hub')} value={d.hub} list={suggest(d.hub, names.hubs)} onInput={(hub) => setD({ ...d, hub })} />}
      <Field label={t('note')} value={d.note} onInput={(note) => setD({ ...d, note })} />
      <Speaker />
      <p class="quiet">{t('story.correct.hint')}</p>
      <Ends problem={problem} busy={busy} words={t('story.correct')} onBack={onBack} />
    </form>
  )
}

function Exchange({ entry: e, onDone, onBack }: Form): JSX.Element {
  const names = namesNow()
  const a = String(e.body?.device ?? '')
  const [d, setD, forget] = useDraft(`exchange.${a}`, { b: '', note: '' })
  const { problem, busy, amend } = useAmend(() => { forget(); onDone() })
  const send = (): void => void amend('exchange', { a, b: d.b.trim(), note: d.note.trim() }, t('story.exchange.said', { a, b: d.b.trim() }))
  return (
    <form noValidate class="stack card" onSubmit={(x) => { x.preventDefault(); if (!busy) send() }}>
      <h3>{t('story.exchange.what', { a })}</h3>
      <Field label={t('story.exchange.other', { a })} value={d.b} list={suggest(d.b, names.tags)} onInput={(b) => setD({ ...d, b })} />
      <Field label={t('note')} value={d.note} onInput={(note) => setD({ ...d, note })} />
      <Speaker />
      <Ends problem={problem} busy={busy} words={t('story.exchange')} onBack={onBack} />
    </form>
  )
}

// Again logs a withdrawn entry once more, at the time it told of.
function Again({ entry: e, onDone }: { entry: Entry; onDone: () => void }): JSX.Element {
  const again = (): void => {
    const when = e.when ? (e.when[0] === e.when[1] ? e.when[0] : `${e.when[0]}..${e.when[1]}`) : e.at
    void record([{ kind: e.kind, body: e.body!, when }], t('story.again.said', { words: entryWords(e) })).catch(() => undefined)
    onDone()
  }
  return (
    <div class="stack">
      <p class="quiet">{t('story.again.hint')}</p>
      <div><button type="button" class="big" onClick={again}>{t('story.again')}</button></div>
    </div>
  )
}
