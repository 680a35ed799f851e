// What the way home of many hangs on: islands, single points, and what a
// supposition would change. Each list is what the picture shows, in words.
import type { JSX } from 'preact'
import type { Reach } from '../api'
import { Cautions } from '../parts/form'
import { hello } from '../state'
import { t, tn } from '../words'
import { asked, choose, turnTo } from './desk'
import { Tags } from './card'

export function Islands({ reach }: { reach: Reach }): JSX.Element {
  if (!reach.islands.length) return <p>{t('plan.islands.none')}</p>
  return (
    <ul class="stack">
      {reach.islands.map((x, i) => (
        <li key={i} class="card stack">
          <p><b>{t(x.sure ? 'plan.island.sure' : 'plan.island.maybe', { n: x.devices.length, hub: x.hub })}</b></p>
          <p class="quiet"><bdi>{x.why}</bdi></p>
          <Tags title={tn('plan.devices', x.devices.length)} tags={x.devices} />
        </li>
      ))}
    </ul>
  )
}

export function SinglePoints({ reach }: { reach: Reach }): JSX.Element {
  if (!reach.single_points.length) return <p>{t('plan.single.none')}</p>
  return (
    <ul class="stack">
      {reach.single_points.map((p) => (
        <li key={`${p.kind} ${p.id} ${p.hub}`} class="card stack">
          <p><b>{p.kind === 'circuit' ? t('plan.circuit.n', { id: p.id }) : p.id}</b> ({p.hub}): {tn('plan.hang', p.strands.length)}</p>
          <div class="row">
            {p.kind === 'device' && <button type="button" onClick={() => choose(p.id)}>{t('plan.showit')}</button>}
            <button type="button" onClick={() => turnTo({ without: p.id })}>{t('plan.suppose.this')}</button>
          </div>
          <Tags title={tn('plan.devices', p.strands.length)} tags={p.strands} />
          {p.dark && p.dark.length > 0 && <Tags title={tn('plan.goesdark', p.dark.length)} tags={p.dark} open={false} />}
          {p.learned && p.learned.length > 0 && <Tags title={tn('plan.learned', p.learned.length)} tags={p.learned} open={false} />}
        </li>
      ))}
    </ul>
  )
}

export const CHANGES = ['lost', 'dark', 'weaker', 'shaken', 'doubtful', 'gained'] as const

// Supposed says that what is shown is not so, what it would change, and how to end
// it.
export function Supposed({ reach, fresh, problem }: { reach: Reach | null; fresh: boolean; problem: string }): JSX.Element | null {
  const { without, planned } = asked.value
  if (!without.length && !planned) return null
  const said = [...(planned ? [t('plan.suppose.planned')] : []), ...(without.length ? [t('plan.without', { what: without.join(', ') })] : [])]
  const change = fresh ? reach?.change : undefined
  return (
    <section class="plan-supposed" aria-label={t('plan.suppose')}>
      <p role="status"><b>{t('plan.supposed')}</b> <bdi>{said.join('; ')}</bdi></p>
      <button type="button" class="act" onClick={() => turnTo({ without: '', planned: '' })}>{t('plan.suppose.end')}</button>
      {problem && <p class="bad">{problem}</p>}
      {!fresh && !problem && <p class="quiet">{t('loading')}</p>}
      {change && CHANGES.every((k) => change[k].length === 0) && <p>{t('plan.change.none')}</p>}
      {change && CHANGES.some((k) => change[k].length > 0) && (
        <details class="plan-change">
          <summary>{CHANGES.filter((k) => change[k].length > 0).map((k) => tn(`plan.change.${k}`, change[k].length)).join(' · ')}</summary>
          {CHANGES.map((k) => change[k].length > 0 && <Tags key={k} title={tn(`plan.change.${k}`, change[k].length)} tags={change[k]} open />)}
        </details>
      )}
      <Cautions words={[hello.value?.cautions.power, ...(fresh ? reach?.cautions ?? [] : [])]} />
    </section>
  )
}
