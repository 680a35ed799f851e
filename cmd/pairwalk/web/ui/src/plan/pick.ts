// Which mark a tap means, and the outline around a group of marks.
import { toScreen, type Size, type View, type XY } from './view'

export interface Placed { x: number; y: number }

// FINGER is how far from the middle of a mark a tap may be: the target is 48 px.
export const FINGER = 24

// pick lists what lies under a tap, the nearest first.
export function pick<T extends Placed>(things: readonly T[], v: View, s: Size, px: number, py: number, within = FINGER): T[] {
  const found: [number, T][] = []
  for (const x of things) {
    const [sx, sy] = toScreen(v, s, x.x, x.y)
    const far = Math.hypot(sx - px, sy - py)
    if (far <= within) found.push([far, x])
  }
  return found.sort((a, b) => a[0] - b[0]).map(([, x]) => x)
}

// after is the one to take of those under a tap: the nearest, or, where one of
// them is chosen already and lies under it, the next, so that marks upon each
// other can all be had.
export function after<T>(found: readonly T[], chosen: (x: T) => boolean): T | undefined {
  const i = found.findIndex(chosen)
  return i < 0 ? found[0] : found[(i + 1) % found.length]
}

// hull is the convex outline of points, anticlockwise (Andrew's monotone chain).
export function hull(points: readonly XY[]): XY[] {
  const p = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1])
  if (p.length < 3) return p
  const turn = (o: XY, a: XY, b: XY): number => (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])
  const half = (list: XY[]): XY[] => {
    const out: XY[] = []
    for (const q of list) {
      while (out.length >= 2 && turn(out[out.length - 2]!, out[out.length - 1]!, q) <= 0) out.pop()
      out.push(q)
    }
    out.pop()
    return out
  }
  return [...half(p), ...half(p.reverse())]
}
