// The picture of a floor, with a button for everything that fingers can do to it.
import type { JSX } from 'preact'
import { useEffect, useRef, useState } from 'preact/hooks'
import { effect } from '@preact/signals'
import { theme } from '../state'
import { t } from '../words'
import type { Floor, HubSpot, Spot } from './floor'
import { gestures } from './gesture'
import { after, pick } from './pick'
import { reel, turns, wide } from './desk'
import { SIGNS, ABSENT, type Reel } from './reel'
import type { Scene } from './scene'
import { Stage } from './stage'
import { toScreen } from './view'
import { useUnder } from './under'

const CARD = 190 // px that the card takes where there is little room
const BUTTONS = 64 // px at the right, where the buttons are

export interface PictureProps {
  floor: Floor
  scene: Scene
  chosen: string
  onChoose: (tag: string) => void
  onHub: (id: string) => void
  onPlace: ((at: [number, number]) => void) | null // a tap says where something is
}

export function Picture({ floor, scene, chosen, onChoose, onHub, onPlace }: PictureProps): JSX.Element {
  const host = useRef<HTMLDivElement>(null)
  const lower = useRef<HTMLCanvasElement>(null)
  const upper = useRef<HTMLCanvasElement>(null)
  const [stage, setStage] = useState<Stage | null>(null)
  const [cross, setCross] = useState(false)
  const [pad, setPad] = useState(false)
  const [under, away] = useUnder(floor.drawing?.sha256)
  const latest = useRef({ floor, chosen, onChoose, onHub, onPlace })
  latest.current = { floor, chosen, onChoose, onHub, onPlace }

  useEffect(() => {
    const s = new Stage(lower.current!, upper.current!, (id) => id)
    setStage(s)
    const watch = new ResizeObserver(([e]) => {
      const first = s.size.w < 2
      s.resize(Math.round(e!.contentRect.width), Math.round(e!.contentRect.height))
      if (first) reveal(s, latest.current.floor.spots.find((x) => x.tag === latest.current.chosen))
    })
    watch.observe(host.current!)
    const tap = (px: number, py: number): void => {
      const { onPlace: put, floor: f, chosen: c } = latest.current
      if (put) return put(s.site(px, py))
      const found = pick<Spot | HubSpot>([...seen(f.spots, reel.value), ...f.hubs], s.view, s.size, px, py)
      const next = after(found, (x) => ('tag' in x ? x.tag : x.id) === c)
      if (next && !('tag' in next)) return latest.current.onHub(next.id)
      return latest.current.onChoose(next?.tag ?? '')
    }
    const stop = gestures(upper.current!, {
      pan: (dx, dy) => s.pan(dx, dy),
      zoom: (k, x, y) => s.zoom(k, x, y),
      fit: () => s.fit(),
      tap,
      middle: () => tap(s.size.w / 2, s.size.h / 2),
      step: (way) => step(s, latest.current, way),
    })
    return () => { watch.disconnect(); stop(); s.stop() }
  }, [])

  const shown = useRef('')
  useEffect(() => {
    if (!stage) return
    const key = `${floor.id} ${floor.drawing?.sha256 ?? ''}`
    stage.setFloor(floor, shown.current === key)
    shown.current = key
  }, [stage, floor])
  useEffect(() => stage?.setUnder(under), [stage, under])
  useEffect(() => stage?.setScene({ ...scene, cross: cross || onPlace !== null }), [stage, scene, cross, onPlace !== null])
  useEffect(() => stage ? effect(() => { void theme.value; stage.redress() }) : undefined, [stage])
  useEffect(() => {
    if (!stage) return undefined
    const hear = (devices: readonly number[]): void => stage.turn(devices)
    turns.add(hear)
    const stop = effect(() => stage.setReel(reel.value))
    return () => { turns.delete(hear); stop() }
  }, [stage])
  useEffect(() => { if (stage) reveal(stage, floor.spots.find((x) => x.tag === chosen)) }, [stage, chosen, floor.id])

  // The buttons zoom around the chosen device, where it is to be seen.
  const zoom = (factor: number): void => {
    if (!stage) return
    const spot = floor.spots.find((x) => x.tag === chosen)
    const at = spot && toScreen(stage.view, stage.size, spot.x, spot.y)
    const seen = at && at[0] > 0 && at[1] > 0 && at[0] < stage.size.w && at[1] < stage.size.h
    if (at && seen) stage.zoom(factor, at[0], at[1])
    else stage.zoom(factor)
  }

  const button = (words: string, sign: string, act: () => void): JSX.Element => (
    <button type="button" aria-label={words} title={words} onClick={act}><span aria-hidden="true">{sign}</span></button>
  )
  return (
    <div class="plan-picture" ref={host}>
      <canvas ref={lower} class="plan-lower" aria-hidden="true" />
      <canvas
        ref={upper} class="plan-upper" tabIndex={0} role="application" aria-label={t('plan.picture.label', { floor: floor.id || t('plan.floor.none') })} aria-describedby="plan-keys"
        onFocus={(e) => setCross(e.currentTarget.matches(':focus-visible'))} onBlur={() => setCross(false)}
      />
      <p id="plan-keys" class="hidden">{t('plan.keys')}</p>
      {away && <p class="quiet plan-away" role="status">{t('plan.away')}</p>}
      <div class="plan-zoom">
        {button(t('plan.zoom.in'), '+', () => zoom(1.5))}
        {button(t('plan.zoom.out'), '−', () => zoom(1 / 1.5))}
        <button type="button" onClick={() => stage?.fit()}>{t('plan.fit')}</button>
        <button type="button" aria-expanded={pad} onClick={() => setPad(!pad)}>{t('plan.move')}</button>
      </div>
      {pad && (
        <div class="plan-pad" role="group" aria-label={t('plan.move')}>
          {button(t('plan.up'), '↑', () => stage?.pan(0, 80))}
          {button(t('plan.left'), '←', () => stage?.pan(80, 0))}
          {button(t('plan.right'), '→', () => stage?.pan(-80, 0))}
          {button(t('plan.down'), '↓', () => stage?.pan(0, -80))}
        </div>
      )}
      {onPlace && <button type="button" class="act plan-here" onClick={() => stage && onPlace(stage.site(stage.size.w / 2, stage.size.h / 2))}>{t('plan.place.here')}</button>}
    </div>
  )
}

// seen are the spots that are drawn at the moment.
function seen(spots: readonly Spot[], r: Reel | null): Spot[] {
  return spots.filter((s) => r !== null && s.course >= 0 && r.state[s.course] !== ABSENT && !(r.signs[s.course]! & SIGNS.gone))
}

// step goes through the devices in the order of the list.
function step(s: Stage, now: { floor: Floor; chosen: string; onChoose: (tag: string) => void }, way: 1 | -1): void {
  const list = seen(now.floor.spots, reel.value)
  if (!list.length) return
  const i = list.findIndex((x) => x.tag === now.chosen)
  const next = list[i < 0 ? 0 : (i + way + list.length) % list.length]!
  now.onChoose(next.tag)
  reveal(s, next)
}

// reveal moves the picture where a device lies outside of it, or under the card that
// stands over its foot.
function reveal(s: Stage, spot: Spot | undefined): void {
  if (!spot || s.size.w < 2) return
  const foot = wide.value ? 0 : CARD
  const [x, y] = toScreen(s.view, s.size, spot.x, spot.y)
  if (x >= 20 && y >= 20 && x <= s.size.w - BUTTONS && y <= s.size.h - 20 - foot) return
  s.centre(spot.x, spot.y)
  s.pan(0, -foot / 2)
}
