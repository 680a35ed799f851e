// What differs? Two moments, and the entries that made the difference.
import type { JSX } from 'preact'
import { useId, useState } from 'preact/hooks'
import type { Course } from '../api'
import type { Differs } from '../api_callback'
import { useLive } from '../live'
import { CLASSES, everything, useNames, type Names } from '../names'
import { Cautions, Field } from '../parts/form'
import { growingCourse } from '../plan/growing'
import { go, route, version } from '../state'
import { SubjectField } from '../story/fields'
import { Words } from '../story/words'
import { day, clock, short } from '../times'
import { has, t, tn, type Key } from '../words'
import { grouped, type Alike, type Doing } from './group'
import { EntryLine } from './pieces'
import '../screens/story.css'
import './callback.css'

export function Differing(): JSX.Element {
  const names = useNames()
  const q = route.value.query
  const asked = { from: q.get('from') ?? '', to: q.get('to') ?? '', subject: q.get('subject') ?? '', known_by: q.get('known_by') ?? '' }
  return (
    <div class="story cb">
      <header class="story-top">
        <h1>{t('differs.title')}</h1>
        <a class="button" href="#/trouble">← {t('happened.back')}</a>
      </header>
      <p>{t('differs.words')}</p>
      <Asking key={JSON.stringify(asked)} asked={asked} names={names} />
      {asked.from && <Told key={`told ${JSON.stringify(asked)}`} asked={asked} />}
    </div>
  )
}

interface AskedOf { from: string; to: string; subject: string; known_by: string }

function Asking({ asked, names }: { asked: AskedOf; names: Names }): JSX.Element {
  const [v, setV] = useState(asked)
  const [problem, setProblem] = useState('')
  const { data: course } = useLive<Course>('course', {}, version, growingCourse)
  const marks = course?.marks ?? []
  const ask = (): void => {
    if (!v.from.trim()) return setProblem(t('differs.lacks'))
    const query: Record<string, string> = { part: 'differs' }
    for (const [key, value] of Object.entries(v)) if (value.trim()) query[key] = value.trim()
    go('trouble', query)
  }
  return (
    <form noValidate class="card stack" onSubmit={(e) => { e.preventDefault(); ask() }}>
      <div class="cb-moments">
        <MomentField label={t('differs.from')} value={v.from} marks={marks} onInput={(from) => setV({ ...v, from })} />
        <MomentField label={t('differs.to')} hint={t('differs.to.hint')} value={v.to} marks={marks} onInput={(to) => setV({ ...v, to })} />
      </div>
      <SubjectField label={t('differs.of')} value={v.subject === 'site:site' ? '' : v.subject} names={names} list={everything(names)} classes={CLASSES} onChange={(subject) => setV({ ...v, subject })} />
      {problem && <p class="bad" role="alert">{problem}</p>}
      <button type="submit" class="act">{t('differs.go')}</button>
    </form>
  )
}

// MomentField takes a time as it is typed, or one of the moments that matter, the
// latest first.
function MomentField({ label, hint, value, marks, onInput }: { label: string; hint?: string; value: string; marks: Course['marks']; onInput: (v: string) => void }): JSX.Element {
  const id = useId()
  const list = [...marks].sort((a, b) => b.at - a.at).slice(0, 200)
  return (
    <div class="stack">
      <Field label={label} hint={hint ?? t('when.hint')} value={value} onInput={onInput} />
      {list.length > 0 && (
        <div class="field">
          <label for={id}>{label}: {t('differs.mark')}</label>
          <select id={id} value="" onChange={(e) => { if (e.currentTarget.value) onInput(e.currentTarget.value) }}>
            <option value="">{t('differs.mark.none')}</option>
            {list.map((m) => <option key={m.ref} value={new Date(m.at).toISOString()}>{day(m.at)} {clock(m.at)} {m.words}</option>)}
          </select>
        </div>
      )}
    </div>
  )
}

const FIRST = 30

function Told({ asked }: { asked: AskedOf }): JSX.Element {
  const { data: d, problem } = useLive<Differs>('differs', { ...asked })
  const [most, setMost] = useState(FIRST)
  if (problem && !d) return <p class="bad" role="alert">{problem}</p>
  if (!d) return <p class="quiet">{t('loading')}</p>
  const doings = grouped(d.changes)
  const moment = (m: Differs['from']): string => `${day(m.when)} ${clock(m.when)}${m.known === 'everything' ? '' : `, ${t('plan.knownto', { name: m.known })}`}`
  return (
    <section class="stack" role="status">
      <h2>{doings.length ? tn('differs.n', doings.length) : t('differs.none')}</h2>
      <p class="quiet num">{t('differs.span', { from: moment(d.from), to: moment(d.to) })}</p>
      <Cautions words={d.cautions ?? []} />
      <ol class="cb-causes">{doings.slice(0, most).map((x) => <li key={x.key}><DoingCard doing={x} /></li>)}</ol>
      {doings.length > most && <div><button type="button" class="big" onClick={() => setMost(most + 4 * FIRST)}>{tn('trouble.more', doings.length - most)}</button></div>}
      {d.passing.length > 0 && (
        <>
          <h2>{t('differs.passing')}</h2>
          <ul class="cb-list">
            {d.passing.map((p) => <li key={p.began + p.subject}><EntryLine subject={p.subject} event={p.began} at={p.from} by={p.touched?.join(', ') ?? ''} words={p.words} /></li>)}
          </ul>
        </>
      )}
    </section>
  )
}

function DoingCard({ doing: d }: { doing: Doing }): JSX.Element {
  const c = d.of
  return (
    <article class="card stack cb-cause" aria-label={c.entry || c.words}>
      {d.event ? <EntryLine subject={c.subject} event={d.event} at={c.at} by={c.by} words={c.entry || c.words} /> : <p><b>{t('differs.noentry')}</b> <Words text={c.why ?? ''} /></p>}
      {d.event && c.why && <p class="quiet"><Words text={c.why} /></p>}
      <ul class="cb-alike">{d.alike.map((a) => <li key={a.what + a.before + a.after}><AlikeLine alike={a} /></li>)}</ul>
      {c.knew.length > 0 && <p class="quiet">{t('differs.knew')} {c.knew.map((k, i) => <span key={k.member + k.at}>{i > 0 && ', '}<bdi>{k.member}</bdi> <span class="num">{short(k.at)}</span></span>)}</p>}
      {c.not_known.length > 0 && <p class="warn">{t('differs.notknown')} <bdi>{c.not_known.join(', ')}</bdi></p>}
    </article>
  )
}

const NAMES = 12

function AlikeLine({ alike: a }: { alike: Alike }): JSX.Element {
  const names = a.names.slice(0, NAMES)
  const key = `differs.what.${a.what}`
  return (
    <>
      <Words text={names.join(', ')} />{a.names.length > NAMES && <> {tn('differs.more', a.names.length - NAMES)}</>}
      {': '}<span class="quiet">{has(key) ? t(key as Key) : a.what}</span> <span class="cb-arrow"><bdi>{a.before}</bdi> → <b><bdi>{a.after}</bdi></b></span>
    </>
  )
}
