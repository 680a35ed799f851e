// Two points on a photo: tapped roughly, then moved exactly by buttons.
import type { JSX } from 'preact'
import { useRef, useState } from 'preact/hooks'
import { t } from '../words'
import type { Shot } from './shot'
import type { XY } from './view'

const ZOOMS = [1, 2, 4]
const NAMES = ['A', 'B'] as const

export function Sight({ shot, points, onPoints }: { shot: Shot; points: [XY, XY]; onPoints: (p: [XY, XY]) => void }): JSX.Element {
  const [which, setWhich] = useState<0 | 1>(0)
  const [zoom, setZoom] = useState(1)
  const scroll = useRef<HTMLDivElement>(null)
  const set = (p: XY): void => {
    const kept: XY = [Math.max(0, Math.min(shot.wide, Math.round(p[0]))), Math.max(0, Math.min(shot.high, Math.round(p[1])))]
    onPoints(which === 0 ? [kept, points[1]] : [points[0], kept])
  }
  const tap = (e: MouseEvent & { currentTarget: Element }): void => {
    const box = e.currentTarget.getBoundingClientRect()
    set([((e.clientX - box.left) / box.width) * shot.wide, ((e.clientY - box.top) / box.height) * shot.high])
  }
  const nudge = (dx: number, dy: number): void => set([points[which][0] + dx, points[which][1] + dy])
  // look brings the point to the middle of what shows.
  const look = (z: number, i: 0 | 1): void => {
    setZoom(z)
    requestAnimationFrame(() => {
      const s = scroll.current
      if (s) s.scrollTo((points[i][0] / shot.wide) * s.scrollWidth - s.clientWidth / 2, (points[i][1] / shot.high) * s.scrollHeight - s.clientHeight / 2)
    })
  }
  const step = Math.max(1, Math.round(shot.wide / 400 / zoom))
  const r = shot.wide / (30 * zoom)
  return (
    <div class="stack">
      <div class="plan-shot" ref={scroll} tabIndex={0} role="group" aria-label={t('plan.draw.shot')}>
        <svg viewBox={`0 0 ${shot.wide} ${shot.high}`} width={`${zoom * 100}%`} role="img" aria-label={t('plan.draw.shot')} onClick={tap}>
          <image href={shot.url} width={shot.wide} height={shot.high} />
          <path class="plan-shot-line" d={`M${points[0].join(' ')}L${points[1].join(' ')}`} vector-effect="non-scaling-stroke" />
          {points.map(([x, y], i) => (
            <g key={i} class={i === which ? 'plan-shot-point on' : 'plan-shot-point'}>
              <path class="halo" d={`M${x - r} ${y}H${x + r}M${x} ${y - r}V${y + r}`} vector-effect="non-scaling-stroke" />
              <path d={`M${x - r} ${y}H${x + r}M${x} ${y - r}V${y + r}`} vector-effect="non-scaling-stroke" />
              <text x={x + r * 0.25} y={y - r * 0.25} font-size={r}>{NAMES[i]}</text>
            </g>
          ))}
        </svg>
      </div>
      <div class="row" role="group" aria-label={t('plan.draw.which')}>
        {([0, 1] as const).map((i) => <button key={i} type="button" aria-pressed={which === i} onClick={() => { setWhich(i); look(zoom, i) }}>{t('plan.draw.point', { p: NAMES[i] })}</button>)}
        {ZOOMS.map((z) => <button key={z} type="button" aria-pressed={zoom === z} onClick={() => look(z, which)}>×{z}</button>)}
      </div>
      <div class="row" role="group" aria-label={t('plan.draw.nudge')}>
        <button type="button" aria-label={t('plan.left')} onClick={() => nudge(-step, 0)}><span aria-hidden="true">←</span></button>
        <button type="button" aria-label={t('plan.right')} onClick={() => nudge(step, 0)}><span aria-hidden="true">→</span></button>
        <button type="button" aria-label={t('plan.up')} onClick={() => nudge(0, -step)}><span aria-hidden="true">↑</span></button>
        <button type="button" aria-label={t('plan.down')} onClick={() => nudge(0, step)}><span aria-hidden="true">↓</span></button>
        <span class="quiet num">{points[which].join(' · ')} px</span>
      </div>
    </div>
  )
}
