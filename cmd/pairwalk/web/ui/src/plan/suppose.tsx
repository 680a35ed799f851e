// Choosing what to suppose: circuits off, devices gone, or the whole job done.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Layout } from '../api'
import { Cautions, Field, Panel } from '../parts/form'
import { hello } from '../state'
import { t, tn } from '../words'
import { asked, turnTo } from './desk'

const MOST = 60

export function Suppose({ layout, floor, onClose }: { layout: Layout; floor: string; onClose: () => void }): JSX.Element {
  const [without, setWithout] = useState<string[]>(asked.value.without)
  const [planned, setPlanned] = useState(asked.value.planned)
  const [filter, setFilter] = useState('')
  const offers = offersOf(layout, floor)
  const want = filter.trim().toLowerCase()
  const found = offers.filter((x) => without.includes(x.id) || (want === '' ? x.circuit : x.id.toLowerCase().includes(want)))
  const flip = (id: string): void => setWithout(without.includes(id) ? without.filter((x) => x !== id) : [...without, id])
  return (
    <Panel title={t('plan.suppose')} onClose={onClose}>
      <div class="stack">
        <p>{t('plan.suppose.words')}</p>
        <Cautions words={[hello.value?.cautions.power]} />
        <button type="button" class="big" aria-pressed={planned} onClick={() => setPlanned(!planned)}>{t('plan.suppose.planned')}</button>
        <Field label={t('plan.suppose.find')} hint={t('plan.suppose.find.hint')} type="search" value={filter} onInput={setFilter} />
        <ul class="row" aria-label={t('plan.suppose.find')}>
          {found.slice(0, MOST).map((x) => (
            <li key={x.id}>
              <button type="button" aria-pressed={without.includes(x.id)} onClick={() => flip(x.id)}>
                <span><bdi>{x.id}</bdi>{x.circuit && <small> {tn('plan.devices', x.feeds)}</small>}</span>
              </button>
            </li>
          ))}
        </ul>
        {found.length > MOST && <p class="quiet">{t('plan.others', { n: found.length - MOST })}</p>}
        <button type="button" class="act" onClick={() => { turnTo({ without: without.join(','), planned: planned ? '1' : '' }); onClose() }}>
          {without.length || planned ? t('plan.suppose.go') : t('plan.suppose.end')}
        </button>
      </div>
    </Panel>
  )
}

interface Offer { id: string; circuit: boolean; feeds: number; here: number }

// offersOf lists the circuits, those of the floor first, then the devices.
function offersOf(layout: Layout, floor: string): Offer[] {
  const circuits = new Map<string, Offer>()
  for (const d of layout.devices) {
    if (!d.circuit) continue
    const c = circuits.get(d.circuit) ?? { id: d.circuit, circuit: true, feeds: 0, here: 0 }
    c.feeds += 1
    if (d.floor === floor) c.here += 1
    circuits.set(d.circuit, c)
  }
  const order = new Intl.Collator(undefined, { numeric: true })
  const list = [...circuits.values()].sort((a, b) => Number(b.here > 0) - Number(a.here > 0) || order.compare(a.id, b.id))
  return [...list, ...layout.devices.map((d) => ({ id: d.tag, circuit: false, feeds: 0, here: 0 }))]
}
