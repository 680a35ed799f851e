// A late entry: what was done, and when. It stays open for the next one, with the
// act and the time as they were.
import type { JSX } from 'preact'
import { useEffect, useRef, useState } from 'preact/hooks'
import { Cautions, Field, Speaker, speakerReady, useDraft } from '../parts/form'
import { record } from '../outbox'
import { hello, route } from '../state'
import { t, type Key } from '../words'
import { ActField, NotListed } from './fields'
import { ACT_NAMES, ACTS, filled, lacking, strange, type FieldName, type Values } from './acts'
import { emergency, type Names } from '../names'
import { kindWords, say } from './say'

interface Draft { act: string; when: string; values: Values }

const KEEPS: FieldName[] = ['hub', 'program', 'how', 'radio'] // from one entry to the next

export function Late({ names }: { names: Names }): JSX.Element {
  const asked = route.value.query.get('act') ?? ''
  const about = route.value.query.get('subject') ?? ''
  const [d, setD] = useDraft<Draft>('late', { act: Object.hasOwn(ACTS, asked) ? asked : 'device.paired', when: '', values: fromSubject(about) })
  const [problem, setProblem] = useState('')
  const [round, setRound] = useState(0) // a new form after each entry
  const latest = useRef(d)
  latest.current = d
  const form = useRef<HTMLFormElement>(null)
  useEffect(() => { if (round > 0) form.current?.querySelector<HTMLElement>('.story-late-fields input, .story-late-fields button')?.focus() }, [round])
  const act = ACTS[d.act] ?? ACTS['device.paired']!
  const set = (values: Values): void => setD({ ...d, values })
  const about2 = [filled(d.values).of, filled(d.values).powered, `device:${filled(d.values).device}`]
  const send = (): void => {
    const lacks = lacking(act, d.values)
    if (lacks.length) {
      setProblem(t('story.late.lacks', { what: lacks.map((n) => t(`story.late.${n}` as Key)).join(', ') }))
      return
    }
    if (!speakerReady()) {
      setProblem(t('speaker.need'))
      return
    }
    if (d.when.trim() && strange(d.when)) {
      setProblem(t('story.late.strange', { when: d.when.trim() }))
      return
    }
    setProblem('')
    const entry = act.make(filled(d.values), d.values)
    const when = d.when.trim()
    const words = say(entry.kind, entry.body)
    const sent = record([when ? { ...entry, when } : entry], when ? t('story.late.said', { words, when }) : words)
    const values: Values = Object.fromEntries(KEEPS.filter((k) => d.values[k]).map((k) => [k, d.values[k]]))
    const next = { ...d, values }
    setD(next)
    setRound(round + 1)
    sent.catch(() => { // the shell shows what the process has against it; here it can be mended
      if (latest.current !== next) return
      setD(d)
      setRound(round + 2)
    })
  }
  return (
    <div class="story-write">
      <p><a class="story-link" href={about ? `#/story?subject=${encodeURIComponent(about)}` : '#/story'}>{t('story.back')}</a></p>
      <h1>{t('story.late')}</h1>
      <p class="quiet">{t('story.late.hint')}</p>
      <form ref={form} noValidate class="stack" onSubmit={(e) => { e.preventDefault(); send() }}>
        <div class="story-late-first">
          <div class="field">
            <label for="story-act">{t('story.late.act')}</label>
            <select id="story-act" value={d.act} onChange={(e) => setD({ ...d, act: e.currentTarget.value })}>
              {ACT_NAMES.map((a) => <option key={a} value={a}>{kindWords(a)}</option>)}
            </select>
          </div>
          <Field label={t('when')} hint={t('when.hint')} value={d.when} onInput={(when) => setD({ ...d, when })} />
        </div>
        <div key={`${d.act} ${round}`} class="stack story-late-fields">
          {[...act.need, ...act.may].map((name) => <ActField key={name} name={name} values={d.values} need={act.need.includes(name)} names={names} set={set} />)}
        </div>
        <NotListed subjects={about2} names={names} />
        <Speaker />
        <Cautions words={[...(act.cautions?.(hello.value!.cautions) ?? []), ...about2.map((s) => emergency(s, names))]} />
        {problem && <p class="bad" role="alert">{problem}</p>}
        <div><button type="submit" class="act">{t('record')}</button></div>
      </form>
    </div>
  )
}

function fromSubject(subject: string): Values {
  if (subject.startsWith('device:')) return { device: subject.slice(7), of: subject }
  if (subject.startsWith('hub:')) return { hub: subject.slice(4), of: subject }
  return subject ? { of: subject, powered: subject } : {}
}
