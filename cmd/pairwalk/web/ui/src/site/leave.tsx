// What should be done before a floor is left.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Layout, Step } from '../api'
import { Cautions, Choice, nameOf, useDraft } from '../parts/form'
import { useNames } from '../names'
import { get } from '../request'
import { t, tn } from '../words'
import { useAsked } from './ask'
import { AskedAt, Problem, Thinking } from './pieces'
import { places, stretches, type Stretch } from './stretch'
import { actWords } from './walker'

interface Answer { floor: string; steps: Step[]; layout: Layout }

export function Leave(): JSX.Element {
  const asked = useAsked<Answer>('site.leave')
  const floors = useNames().floors
  const [floor, setFloor] = useDraft('leave.floor', '')
  const pick = (f: string): void => {
    setFloor(f)
    void asked.ask(async () => {
      const [doc, layout] = await Promise.all([get<{ steps: Step[] }>('leave', { floor: f }), get<Layout>('layout')])
      return { floor: f, steps: doc.steps, layout }
    })
  }
  const a = asked.data
  return (
    <div class="stack">
      <p>{t('site.leave.words')}</p>
      {floors.length
        ? <Choice label={t('site.leave.floor')} options={floors} value={floor} onPick={pick} words={(f) => f} />
        : <p><b>{t('site.leave.nofloor')}</b></p>}
      <Thinking busy={asked.busy} words={t('site.thinking')} />
      <Problem words={asked.problem} />
      {a && !asked.busy && a.floor === floor && (
        <>
          <div class="row"><AskedAt at={asked.at} stale={asked.stale} />{asked.stale && <button type="button" class="big" onClick={() => pick(floor)}>{t('site.again')}</button>}</div>
          <Steps answer={a} />
        </>
      )}
    </div>
  )
}

function Steps({ answer }: { answer: Answer }): JSX.Element {
  const { steps, floor, layout } = answer
  if (!steps.length) return <p class="good"><b>{t('site.leave.nothing', { floor })}</b></p>
  const where = places(layout)
  const runs = stretches(steps, (s) => ({ ...where(s), floor: '' }))
  return (
    <section class="stack">
      <h3>{tn('site.leave.steps', steps.length, { floor })}</h3>
      <Cautions words={steps.flatMap((s) => s.cautions ?? [])} />
      <ol class="site-leave">{runs.map((r, i) => <Run key={i} run={r} />)}</ol>
    </section>
  )
}

function Run({ run }: { run: Stretch<Step> }): JSX.Element {
  const [all, setAll] = useState(false)
  const most = 12
  const shown = all ? run.steps : run.steps.slice(0, most)
  const whys = [...new Set(run.steps.map((s) => s.why))]
  const single = run.steps.length === 1 ? run.steps[0]! : null
  return (
    <li class="card stack">
      <h4>{actWords(run.act)} {single ? <bdi>{nameOf(single.subject)}</bdi> : tn('site.devices', run.steps.length)} {run.hub && (!single || nameOf(single.subject) !== run.hub) && t('site.on.hub', { hub: run.hub })}</h4>
      {whys.slice(0, 3).map((w) => <p key={w}><bdi>{w}</bdi></p>)}
      {run.rooms.length > 0 && <p class="quiet">{tn('site.rooms', run.rooms.length)} <bdi>{run.rooms.join(', ')}</bdi></p>}
      <ul class="row">
        {shown.map((s, i) => <li key={i}><a class="button" href={`#/now?subject=${encodeURIComponent(s.subject)}`}><bdi>{single ? t('site.to.record') : nameOf(s.subject)}</bdi></a></li>)}
      </ul>
      {shown.length < run.steps.length && <div><button type="button" onClick={() => setAll(true)}>{tn('site.showall', run.steps.length)}</button></div>}
    </li>
  )
}
