// Putting devices on the plan by tapping where they are.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { LayoutDevice } from '../api'
import { placed } from '../entries'
import { record } from '../outbox'
import { Field, Speaker, speakerReady } from '../parts/form'
import { t } from '../words'
import type { Floor } from './floor'

const CEILING = '2.6' // m above the floor, where most fittings hang; it is shown and can be changed
const TAPPED = 1000 // mm: how well a finger on a plan says where something is

export interface Placing {
  tag: string
  start: (tag: string) => void
  stop: () => void
  tap: ((at: [number, number]) => void) | null
  bar: JSX.Element | null
}

// usePlacing is the placing of one device after another; tap is null while none is.
export function usePlacing(floor: Floor | null): Placing {
  const [tag, setTag] = useState('')
  const [height, setHeight] = useState(CEILING)
  const stop = (): void => setTag('')
  if (!floor || !tag) return { tag: '', start: setTag, stop, tap: null, bar: null }
  const metres = Number(height.replace(',', '.'))
  const ready = Number.isFinite(metres) && height.trim() !== '' && speakerReady()
  const tap = ([x, y]: [number, number]): void => {
    if (!ready) return
    const at: [number, number, number] = [Math.round(x), Math.round(y), Math.round(floor.elevation + metres * 1000)]
    void record([placed(tag, at, TAPPED)], t('plan.placed', { tag })).catch(() => undefined) // the shell shows why not
    setTag(next(floor.unplaced, tag))
  }
  const offers = [...(floor.unplaced.some((d) => d.tag === tag) ? [] : [tag]), ...floor.unplaced.map((d) => d.tag)]
  const bar = (
    <section class="plan-placing" aria-label={t('plan.place')}>
      <p role="status"><b>{t('plan.place.tap', { tag })}</b> {t('plan.place.how')}</p>
      <div class="plan-fields">
        <div class="field">
          <label for="plan-place-what">{t('plan.place.what')}</label>
          <select id="plan-place-what" value={tag} onChange={(e) => setTag(e.currentTarget.value)}>
            {offers.map((x) => <option key={x} value={x}>{x}</option>)}
          </select>
        </div>
        <Field label={t('plan.place.height')} inputMode="decimal" value={height} onInput={setHeight} />
        <Speaker />
        <button type="button" onClick={stop}>{t('plan.place.stop')}</button>
      </div>
    </section>
  )
  return { tag, start: setTag, stop, tap, bar }
}

// next is the device to place after one, '' where it was the last.
function next(list: readonly LayoutDevice[], tag: string): string {
  const i = list.findIndex((d) => d.tag === tag)
  if (i < 0) return '' // it had a place already, and was put right
  return (list[i + 1] ?? list.find((d) => d.tag !== tag))?.tag ?? ''
}
