// Holds: nobody touches this until it is lifted. A hold is an entry, never a lockout.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Hold } from '../api'
import * as entries from '../entries'
import { record } from '../outbox'
import { Cautions, Field, Speaker, speakerReady, useDraft } from '../parts/form'
import { hello } from '../state'
import { ago, short } from '../times'
import { t } from '../words'
import { NotListed, SubjectField } from './fields'
import { CLASSES, emergency, everything, type Names } from '../names'
import { subjectWords } from './say'
import { Subjects } from './tconflict'

export function HoldCard({ hold: h, names }: { hold: Hold; names: Names }): JSX.Element {
  const [note, setNote, forget] = useDraft(`lift.${h.subject}.${h.since}`, '')
  const [open, setOpen] = useState(false)
  const [problem, setProblem] = useState('')
  const lift = (): void => {
    if (!speakerReady()) return setProblem(t('speaker.need'))
    record([entries.lift(h.subject, note.trim())], t('trouble.hold.lifted', { name: subjectWords(h.subject) })).catch(() => undefined)
    forget()
    setOpen(false)
  }
  return (
    <article class="card stack trouble-card" aria-label={h.why}>
      <h3><Subjects of={[h.subject]} /></h3>
      <p><bdi>{h.why}</bdi></p>
      <p class="quiet">{t('trouble.fault.since', { at: short(h.since), ago: ago(h.since) })} <bdi>{h.by}</bdi>{h.who && <> · {t('trouble.hold.for')} <bdi>{h.who}</bdi></>}</p>
      <Cautions words={[emergency(h.subject, names)]} />
      {!open && <div><button type="button" class="big" onClick={() => setOpen(true)}>{t('trouble.hold.lift')}</button></div>}
      {open && (
        <form noValidate class="stack trouble-form" onSubmit={(e) => { e.preventDefault(); lift() }}>
          <Field label={t('note')} value={note} onInput={setNote} />
          <Speaker />
          <Cautions words={[hello.value?.cautions.hold]} />
          {problem && <p class="bad" role="alert">{problem}</p>}
          <div class="row">
            <button type="submit" class="act">{t('trouble.hold.lift')}</button>
            <button type="button" class="plain" onClick={() => setOpen(false)}>{t('cancel')}</button>
          </div>
        </form>
      )}
    </article>
  )
}

export function PlaceHold({ names, onDone }: { names: Names; onDone: () => void }): JSX.Element {
  const [d, setD, forget] = useDraft('hold.placed', { of: '', why: '', who: '' })
  const [problem, setProblem] = useState('')
  const send = (): void => {
    if (!d.of || !d.why.trim()) return setProblem(t('trouble.hold.lacks'))
    if (!speakerReady()) return setProblem(t('speaker.need'))
    record([entries.hold(d.of, d.why.trim(), d.who.trim())], t('trouble.hold.said', { name: subjectWords(d.of), why: d.why.trim() })).catch(() => setD(d)) // kept, to be mended
    forget()
    onDone()
  }
  return (
    <form noValidate class="card stack" onSubmit={(e) => { e.preventDefault(); send() }}>
      <h3>{t('trouble.hold.place')}</h3>
      <SubjectField label={t('trouble.hold.of')} value={d.of} names={names} list={everything(names)} classes={CLASSES} onChange={(of) => setD({ ...d, of })} />
      <Field label={t('trouble.hold.why')} value={d.why} onInput={(why) => setD({ ...d, why })} />
      <Field label={`${t('trouble.hold.who')} (${t('story.optional')})`} value={d.who} onInput={(who) => setD({ ...d, who })} />
      <NotListed subjects={[d.of]} names={names} />
      <Speaker />
      <Cautions words={[hello.value?.cautions.hold, emergency(d.of, names)]} />
      {problem && <p class="bad" role="alert">{problem}</p>}
      <div class="row">
        <button type="submit" class="act">{t('record')}</button>
        <button type="button" class="plain" onClick={onDone}>{t('cancel')}</button>
      </div>
    </form>
  )
}
