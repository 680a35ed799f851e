// What happened? The call months after handover: what it is about, since when, how
// it shows; and then what the log knows. What is asked is in the address, so that
// Back and a reload come back to it.
import type { JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import type { Explain } from '../api_callback'
import { useLive } from '../live'
import { CLASSES, everything, useNames, type Names } from '../names'
import { Choice, Field } from '../parts/form'
import { go, route } from '../state'
import { NotListed, SubjectField } from '../story/fields'
import { t, type Key } from '../words'
import { Answer } from './answer'
import '../screens/story.css'
import './callback.css'

const SYMPTOMS = ['no-answer', 'wrong-level', 'intermittent', 'always-on', 'unknown'] as const
type Symptom = (typeof SYMPTOMS)[number]

export function Happened(): JSX.Element {
  const names = useNames()
  const q = route.value.query
  const subject = q.get('subject') ?? ''
  const asked = { subject, symptom: q.get('symptom') ?? '', from: q.get('from') ?? '', to: q.get('to') ?? '', at: q.get('at') ?? '', known_by: q.get('known_by') ?? '' }
  return (
    <div class="story cb">
      <header class="story-top">
        <h1>{t('happened.title')}</h1>
        <a class="button" href="#/trouble">← {t('happened.back')}</a>
      </header>
      <Asking key={`${subject} ${asked.from}`} asked={asked} names={names} />
      {subject && <Told key={JSON.stringify(asked)} asked={{ ...asked, symptom: asked.symptom === 'unknown' ? '' : asked.symptom }} />}
    </div>
  )
}

interface AskedOf { subject: string; symptom: string; from: string; to: string; at: string; known_by: string }

// Asking is the form. How it shows asks at once where the rest has been said.
function Asking({ asked, names }: { asked: AskedOf; names: Names }): JSX.Element {
  const [of, setOf] = useState(asked.subject)
  const [since, setSince] = useState(asked.from)
  const [symptom, setSymptom] = useState<Symptom | ''>((SYMPTOMS as readonly string[]).includes(asked.symptom) ? (asked.symptom as Symptom) : '')
  const [problem, setProblem] = useState('')
  const ask = (how: string): void => {
    if (!of) return setProblem(t('happened.lacks'))
    setProblem('')
    const query: Record<string, string> = { part: 'happened', subject: of }
    for (const [key, value] of Object.entries({ symptom: how, from: since.trim(), to: asked.to, at: asked.at, known_by: asked.known_by })) if (value) query[key] = value
    go('trouble', query)
  }
  return (
    <form noValidate class="card stack" onSubmit={(e) => { e.preventDefault(); ask(symptom) }}>
      <SubjectField label={t('happened.of')} value={of} names={names} list={everything(names)} classes={CLASSES} onChange={setOf} />
      <NotListed subjects={[of]} names={names} />
      <Field label={`${t('happened.since')} (${t('story.optional')})`} hint={t('happened.since.hint')} value={since} onInput={setSince} />
      <div class="cb-symptoms">
        <Choice label={t('happened.symptom')} options={SYMPTOMS} value={symptom} onPick={(s) => { setSymptom(s); if (of) ask(s) }} words={(s) => t(`happened.symptom.${s}` as Key)} />
      </div>
      {problem && <p class="bad" role="alert">{problem}</p>}
      <button type="submit" class="act">{t('happened.go')}</button>
    </form>
  )
}

function Told({ asked }: { asked: AskedOf }): JSX.Element {
  const { data, problem } = useLive<Explain>('explain', { ...asked })
  useEffect(() => { if (data) document.getElementById('happened-answer')?.scrollIntoView({ block: 'start' }) }, [data !== null])
  if (problem && !data) return <p class="bad" role="alert">{problem}</p>
  if (!data) return <p class="quiet">{t('loading')}</p>
  return <Answer doc={data} />
}
