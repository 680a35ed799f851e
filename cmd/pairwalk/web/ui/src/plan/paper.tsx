// Floors on paper: black on white, one a page, each device's tag beside it.
import type { JSX } from 'preact'
import { STATES, type LayoutDevice } from '../api'
import { FILL, outline, shapeOf, type Shape } from '../parts/mark'
import { hello } from '../state'
import { t, has } from '../words'
import { drawn, type Floor } from './floor'
import { labels } from './labels'
import { ABSENT, SIGNS, type Reel } from './reel'
import { kindWords, signWords, stateOf } from './twin'
import type { XY } from './view'

const WIDE = 277 // mm of an A4 page across, within its margins
const HIGH = 150

export interface PaperProps { floors: Floor[]; reel: Reel; courseOf: ReadonlyMap<string, number>; pictures: ReadonlyMap<string, { url: string; wide: number; high: number }>; moment: string; known: string }

export function Paper(p: PaperProps): JSX.Element {
  return <>{p.floors.map((f) => <Page key={f.id} floor={f} {...p} />)}</>
}

function Page({ floor, reel, courseOf, pictures, moment, known }: { floor: Floor } & PaperProps): JSX.Element {
  const spots = floor.spots.filter((s) => s.course >= 0 && reel.state[s.course] !== ABSENT && !(reel.signs[s.course]! & SIGNS.gone))
  const rest = drawn(floor) ? floor.unplaced : [...floor.unplaced, ...floor.spots.map((s) => s.device)]
  return (
    <section class="plan-page">
      <header>
        <h2>{hello.value?.site.name} · {floor.id ? t('plan.floor.n', { floor: floor.id }) : t('plan.floor.none')}</h2>
        <p>{moment}{known && ` · ${t('plan.knownto', { name: known })}`}{hello.value?.site.practice && ` · ${t('practice')}`}</p>
      </header>
      {drawn(floor) && <Sheet floor={floor} spots={spots} reel={reel} picture={floor.drawing ? pictures.get(floor.drawing.sha256) : undefined} />}
      {drawn(floor) && <PaperLegend />}
      {rest.length > 0 && <Rest devices={rest} reel={reel} courseOf={courseOf} title={drawn(floor) ? t('plan.noplace') : t('plan.floor.noplaces')} />}
      <footer>{hello.value?.permit}</footer>
    </section>
  )
}

function Sheet({ floor, spots, reel, picture }: { floor: Floor; spots: Floor['spots']; reel: Reel; picture?: { url: string; wide: number; high: number } }): JSX.Element {
  const box = floor.box ?? { minX: 0, minY: 0, maxX: 10_000, maxY: 10_000 }
  const k = Math.min((WIDE - 16) / Math.max(box.maxX - box.minX, 4_000), (HIGH - 16) / Math.max(box.maxY - box.minY, 4_000))
  const on = (x: number, y: number): XY => [WIDE / 2 + (x - (box.minX + box.maxX) / 2) * k, HIGH / 2 - (y - (box.minY + box.maxY) / 2) * k]
  const apart = floor.apart * k
  const r = Math.max(0.7, Math.min(2.2, apart * 0.26))
  const size = Math.max(1, Math.min(2.4, apart * 0.32))
  const tags = labels(spots.map((s) => on(s.x, s.y)), spots.map((s) => (s.device.emergency || reel.signs[s.course] ? 1.6 * r : r)), spots.map((s) => s.tag.length * size * 0.58 + 0.4), size)
  const d = floor.drawing
  const [cx, cy] = d ? on(d.corner_mm[0], d.corner_mm[1]) : [0, 0]
  const px = d ? (d.pixel_um / 1000) * k : 1
  return (
    <svg class="plan-sheet" viewBox={`0 0 ${WIDE} ${HIGH}`}>
      <Shapes />
      {d && picture && <image href={picture.url} width={picture.wide} height={picture.high} opacity={0.5} transform={`translate(${cx} ${cy}) rotate(${-d.turn_mdeg / 1000}) scale(${px})`} />}
      {floor.walls.map((w, i) => <polyline key={i} points={w.line_mm.map(([x, y]) => on(x, y).join(',')).join(' ')} fill="none" stroke="#777" stroke-width={Math.max(0.5, w.thickness_mm * k)} />)}
      {floor.hubs.map((h) => {
        const [x, y] = on(h.x, h.y)
        return <g key={h.id}><use href="#pp-house-0" transform={`translate(${x} ${y}) scale(${r * 2})`} /><text x={x} y={y + size * 0.5} font-size={size * 1.3} text-anchor="middle" font-weight="700">{h.id}</text></g>
      })}
      {spots.map((s, i) => {
        const [x, y] = on(s.x, s.y)
        const signs = reel.signs[s.course]!
        return (
          <g key={s.tag}>
            <g transform={`translate(${x} ${y}) scale(${r})`}>
              <use href={`#pp-${shapeOf(s.device.kind)}-${reel.state[s.course]}`} />
              <Signs signs={signs} emergency={s.device.emergency} />
            </g>
            <text x={tags[i]!.x} y={tags[i]!.y + size * 0.36} font-size={size} text-anchor="middle" stroke="#fff" stroke-width={size * 0.2} paint-order="stroke">{s.tag}</text>
          </g>
        )
      })}
    </svg>
  )
}

// Shapes are every mark once; the plan refers to them.
function Shapes(): JSX.Element {
  return (
    <defs>
      {(Object.keys(outline) as Shape[]).flatMap((shape) => STATES.map((state, i) => {
        const points = outline[shape].map((p) => p.join(',')).join(' ')
        return (
          <g key={`${shape} ${state}`} id={`pp-${shape}-${i}`}>
            <clipPath id={`pc-${shape}-${i}`}><polygon points={points} /></clipPath>
            <polygon points={points} fill="#fff" />
            <rect x={-2} y={1.15 - 2.3 * FILL[state]!} width={4} height={2.3 * FILL[state]!} fill="#000" clip-path={`url(#pc-${shape}-${i})`} />
            <polygon points={points} fill="none" stroke="#000" stroke-width={0.22} />
            {state === 'pushed' && <path d="M-0.45 0.05L-0.1 0.4L0.5 -0.4" fill="none" stroke="#fff" stroke-width={0.25} />}
          </g>
        )
      }))}
    </defs>
  )
}

function Signs({ signs, emergency }: { signs: number; emergency: boolean }): JSX.Element {
  const d = [
    signs & SIGNS.dark ? 'M-1.3 -1.3L1.3 1.3M-1.3 1.3L1.3 -1.3' : '', signs & SIGNS.hold ? 'M-1.3 1.5H1.3' : '',
    signs & SIGNS.fault ? 'M0.75 -0.3V-1.8L1.8 -1.45L0.75 -1.05' : '', signs & SIGNS.refused ? 'M-1.75 0.85L-1.05 1.55M-1.05 0.85L-1.75 1.55' : '',
    signs & SIGNS.skipped ? 'M1.05 0.8L1.5 1.2L1.05 1.6M1.4 0.8L1.85 1.2L1.4 1.6' : '', signs & SIGNS.struck ? 'M-1.6 0H1.6' : '',
  ].join('')
  return (
    <>
      {(signs & SIGNS.missed) !== 0 && <path d="M0 0.1L0.62 -1.5H-0.62Z" fill="#fff" />}
      {emergency && <circle r={1.5} fill="none" stroke="#000" stroke-width={0.2} />}
      {d && <><path d={d} fill="none" stroke="#fff" stroke-width={0.6} /><path d={d} fill="none" stroke="#000" stroke-width={0.28} /></>}
    </>
  )
}

function PaperLegend(): JSX.Element {
  const sample = (key: string, shape: Shape, state: number, signs: number, emergency: boolean, words: string): JSX.Element => (
    <li key={key}><svg viewBox="-2 -2 4 4"><use href={`#pp-${shape}-${state}`} /><Signs signs={signs} emergency={emergency} /></svg> {words}</li>
  )
  return (
    <ul class="plan-paper-legend">
      {sample('hub', 'house', 0, 0, false, 'Hub')}
      {(hello.value?.kinds ?? []).map((k) => sample(k, shapeOf(k), 0, 0, false, kindWords(k)))}
      {STATES.map((s, i) => sample(s, 'square', i, 0, false, t(`state.${s}`)))}
      {(['dark', 'hold', 'fault', 'refused', 'skipped', 'missed', 'struck'] as const).map((s) => sample(s, 'square', 0, SIGNS[s], false, t(`flag.${s}`)))}
      {sample('emergency', 'square', 0, 0, true, t('emergency'))}
    </ul>
  )
}

function Rest({ devices, reel, courseOf, title }: { devices: LayoutDevice[]; reel: Reel; courseOf: ReadonlyMap<string, number>; title: string }): JSX.Element {
  return (
    <div class="plan-paper-rest">
      <h3>{title}</h3>
      <ul>
        {devices.map((d) => {
          const course = courseOf.get(d.tag) ?? -1
          const state = stateOf(reel, course)
          const words = state === '' ? t('plan.absent') : has(`state.${state}`) ? t(`state.${state}` as 'state.listed') : state
          return <li key={d.tag}><b>{d.tag}</b> {d.room} {kindWords(d.kind)}: {[words, ...signWords(reel, course), ...(d.emergency ? [t('emergency')] : [])].join(', ')}</li>
        })}
      </ul>
    </div>
  )
}
