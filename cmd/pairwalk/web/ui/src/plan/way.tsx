// The way home of a device in words. What is a range stays a range, and what is not
// known is said to be unknown.
import type { JSX } from 'preact'
import type { ReachDevice, Subject } from '../api'
import { short } from '../times'
import { t } from '../words'
import type { Place } from './floor'
import { hopWords } from './twin'

export interface WayProps {
  reach: ReachDevice | undefined
  fresh: boolean
  legs: Subject['legs']
  floor: string
  places: ReadonlyMap<string, Place>
}

export function Way({ reach, fresh, legs, floor, places }: WayProps): JSX.Element {
  if (!fresh) return <p class="quiet" role="status">{t('plan.way.asking')}</p>
  if (!reach) return <p class="plan-way">{t('plan.way.unpaired')}</p>
  const { margin_cdb: margin, probability_ppm: chance } = reach
  return (
    <section class="plan-way" aria-label={t('plan.way')}>
      <h3>{t(`ok.${reach.ok}`)}{hopWords(reach)}</h3>
      {(reach.basis !== 'none' || reach.since) && <p>{[reach.basis !== 'none' && t('plan.basis', { basis: t(`basis.${reach.basis}`) }), reach.since && t('plan.seen', { at: short(reach.since) })].filter(Boolean).join(', ')}</p>}
      {reach.path.length > 1 && <Hops reach={reach} legs={legs} floor={floor} places={places} />}
      {margin && <p class="num">{t('plan.margin', { db: range(margin, db) })}</p>}
      {chance && <p class="num">{t('plan.chance', { chance: range(chance, percent) })}</p>}
      {reach.disjoint !== null && <p>{t(reach.disjoint ? 'plan.disjoint.yes' : 'plan.disjoint.no')}</p>}
      <p class="quiet"><bdi>{reach.why}</bdi></p>
    </section>
  )
}

// Hops tells the path link by link. The links come with another answer than the
// path; those of a path that is not this one are left out.
function Hops({ reach, legs, floor, places }: { reach: ReachDevice } & Pick<WayProps, 'legs' | 'floor' | 'places'>): JSX.Element {
  return (
    <ol class="plan-hops">
      {reach.path.map((id, i) => {
        const p = places.get(id)
        const where = !p?.placed ? t('plan.noplace') : p.floor !== floor ? t('plan.floor.n', { floor: p.floor }) : ''
        const leg = legs?.find((x) => x.from === id && x.to === reach.path[i + 1])
        return (
          <li key={id}>
            <b><bdi>{id}</bdi></b>
            {where && <span class="quiet"> ({where})</span>}
            {leg && <p class="num plan-leg">{t('plan.leg', { basis: t(`basis.${leg.basis}`), db: range(leg.margin_cdb, db), chance: range(leg.probability_ppm, percent) })}</p>}
          </li>
        )
      })}
    </ol>
  )
}

// range says both ends, or one where they read the same.
const range = ([from, to]: [number, number], words: (n: number) => string): string =>
  words(from) === words(to) ? words(from) : t('plan.to', { from: words(from), to: words(to) })

const db = (cdb: number): string => (cdb / 100).toFixed(0)

// percent keeps what tells near-certain from certain.
function percent(ppm: number): string {
  const p = ppm / 10_000
  if (p > 0 && p < 0.1) return '<0.1'
  if (p < 100 && p > 99.9) return '>99.9'
  return p >= 99 || p < 1 ? p.toFixed(1) : p.toFixed(0)
}
