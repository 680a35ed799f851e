// Devices on the floor that nobody knows the place of, each to be placed by a tap.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { LayoutDevice } from '../api'
import { t, tn } from '../words'

const PAGE = 40

export function Unplaced({ devices, onPlace }: { devices: LayoutDevice[]; onPlace: (tag: string) => void }): JSX.Element | null {
  const [most, setMost] = useState(PAGE)
  if (!devices.length) return null
  return (
    <details class="plan-unplaced">
      <summary>{tn('plan.unplaced', devices.length)}</summary>
      <p class="quiet">{t('plan.unplaced.words')}</p>
      <ul class="row">
        {devices.slice(0, most).map((d) => <li key={d.tag}><button type="button" onClick={() => onPlace(d.tag)}><bdi>{d.tag}</bdi>{d.room && <small><bdi>{d.room}</bdi></small>}</button></li>)}
      </ul>
      {devices.length > most && <button type="button" onClick={() => setMost(most + 4 * PAGE)}>{t('plan.more', { n: devices.length - most })}</button>}
    </details>
  )
}
