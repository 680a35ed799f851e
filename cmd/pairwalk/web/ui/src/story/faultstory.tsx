// What there is to see of a fault: where it is, what became of it, and its photos.
import type { JSX } from 'preact'
import { useId, useState } from 'preact/hooks'
import type { Logged } from '../api'
import type { FaultStory } from '../api_callback'
import { said } from '../outbox'
import { nameOf, Speaker, speakerReady } from '../parts/form'
import { send } from '../request'
import { short } from '../times'
import { has, t, type Key } from '../words'
import { Photo } from './photo'
import { subjectWords } from './say'
import '../handing/handing.css'

export function Where({ fault: f }: { fault: FaultStory }): JSX.Element | null {
  const place = f.place && t('fault.place', { x: f.place.map((mm) => (mm / 1000).toFixed(1)).join(', ') })
  const words = [f.floor && `${t('story.class.floor')} ${f.floor}`, f.room && `${t('story.class.room')} ${f.room}`, place].filter(Boolean)
  if (!words.length) return null
  const device = f.subject.startsWith('device:') ? nameOf(f.subject) : ''
  return (
    <p>
      {t('fault.where')} <bdi>{words.join(', ')}</bdi>
      {f.place && f.floor && <>{' '}<a class="story-link" href={`#/plan?${new URLSearchParams({ floor: f.floor, ...(device ? { device } : {}) })}`}>{t('fault.plan')}</a></>}
    </p>
  )
}

// FaultHistory is every step, each leading to its entry.
export function FaultHistory({ fault: f, onShow }: { fault: FaultStory; onShow: (ref: string) => void }): JSX.Element | null {
  if (f.history.length < 2) return null
  const step = (what: string): string => (has(`fault.step.${what}`) ? t(`fault.step.${what}` as Key) : what)
  return (
    <details class="hand-history" open={f.history.length > 2}>
      <summary>{t('fault.history')} ({f.history.length})</summary>
      <ol class="trouble-behind">
        {f.history.map((x) => (
          <li key={x.event}>
            <button type="button" class="story-open" onClick={() => onShow(x.event)}>
              <span class="story-when num">{short(x.at)} <bdi>{x.by}</bdi></span>
              <span class="story-said"><b>{step(x.what)}</b> <bdi>{x.words}</bdi></span>
            </button>
          </li>
        ))}
      </ol>
    </details>
  )
}

// FaultPhotos shows the pictures, and says of one that is not here where it is.
export function FaultPhotos({ fault: f }: { fault: FaultStory }): JSX.Element | null {
  if (!f.photos.length) return null
  return (
    <section class="stack" aria-label={t('fault.photos')}>
      <div class="hand-photos">
        {f.photos.map((p) => (
          <figure key={p.sha256 + p.at}>
            <Photo body={{ sha256: p.sha256, caption: p.caption }} />
            <figcaption><bdi>{p.caption}</bdi> <span class="num">{short(p.at)}</span></figcaption>
          </figure>
        ))}
      </div>
    </section>
  )
}

// AddPhoto keeps a picture of the subject beside the log.
export function AddPhoto({ of }: { of: string }): JSX.Element {
  const id = useId()
  const [open, setOpen] = useState(false)
  const [problem, setProblem] = useState('')
  const take = (file: File | undefined): void => {
    if (!file) return
    if (!speakerReady()) return setProblem(t('speaker.need'))
    setProblem('')
    send<Logged>('picture', file, { subject: of }).then(
      (logged) => {
        said.value = { words: t('fault.photo.said', { of: subjectWords(of) }), logged, at: Date.now() }
        setOpen(false)
      },
      (e: Error) => setProblem(e.message),
    )
  }
  return (
    <>
      <button type="button" class="big" aria-expanded={open} onClick={() => setOpen(!open)}>{t('fault.photo.add')}</button>
      {open && (
        <div class="stack trouble-form hand-wide">
          <p class="quiet">{t('fault.photo.note')}</p>
          <Speaker />
          <div class="field">
            <label for={id}>{t('subject.photo.file')}</label>
            <input id={id} class="fault-photo" type="file" accept="image/*" onChange={(e) => { const f = e.currentTarget.files?.[0]; e.currentTarget.value = ''; take(f) }} />
          </div>
        </div>
      )}
      {problem && <p class="bad" role="alert">{problem}</p>}
    </>
  )
}
