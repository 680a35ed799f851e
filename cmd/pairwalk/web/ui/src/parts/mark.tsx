// A device's mark: its shape says what kind it is, its fill how far it has come. The
// word stands beside it, or in its label.
import type { JSX } from 'preact'
import { t, has } from '../words'

export type Shape = 'round' | 'square' | 'diamond' | 'triangle' | 'bar' | 'hex' | 'house'

// shapeOf gives every kind of device a shape of its own; a hub's is the house.
export function shapeOf(kind: string): Shape {
  switch (kind) {
    case 'sensor': return 'round'
    case 'dimmer': case 'switch': return 'square'
    case 'driver': return 'diamond'
    case 'wall-control': return 'triangle'
    case 'relay': return 'hex'
    case 'hub': return 'house'
    default: return 'bar' // what never pairs
  }
}

// outline is the shape around 0,0, as far as 1 from it.
export const outline: Record<Shape, [number, number][]> = {
  round: Array.from({ length: 20 }, (_, i) => [Math.cos((i * Math.PI) / 10), Math.sin((i * Math.PI) / 10)] as [number, number]),
  square: [[-0.85, -0.85], [0.85, -0.85], [0.85, 0.85], [-0.85, 0.85]],
  diamond: [[0, -1.1], [1.1, 0], [0, 1.1], [-1.1, 0]],
  triangle: [[0, -1.05], [1.05, 0.8], [-1.05, 0.8]],
  bar: [[-1, -0.5], [1, -0.5], [1, 0.5], [-1, 0.5]],
  hex: [[-1.05, 0], [-0.55, -0.9], [0.55, -0.9], [1.05, 0], [0.55, 0.9], [-0.55, 0.9]],
  house: [[0, -1.15], [1.1, -0.2], [0.85, 1], [-0.85, 1], [-1.1, -0.2]],
}

// How full a state draws a mark, from the bottom; and whether it has a tick.
export const FILL: Record<string, number> = { listed: 0, fitted: 0.35, paired: 0.6, settled: 0.85, pushed: 1 }

export function Mark({ kind, state, label }: { kind: string; state: string; label?: boolean }): JSX.Element {
  const points = outline[shapeOf(kind)].map(([x, y]) => `${12 + 8 * x},${12 + 8 * y}`).join(' ')
  const full = FILL[state] ?? 0
  const id = `m-${shapeOf(kind)}-${state}`
  const key = `state.${state}`
  return (
    <span class={`mark state-${state}`}>
      <svg viewBox="0 0 24 24" aria-hidden="true">
        <clipPath id={id}><polygon points={points} /></clipPath>
        <rect class="fill" x="0" width="24" y={22 - 20 * full} height={20 * full} clip-path={`url(#${id})`} />
        <polygon class="edge" points={points} />
        {state === 'pushed' && <path class="tick" d="M7.5 12.5 L11 16 L16.5 8.5" />}
      </svg>
      {label !== false && <span class="word">{has(key) ? t(key) : state}</span>}
    </span>
  )
}
