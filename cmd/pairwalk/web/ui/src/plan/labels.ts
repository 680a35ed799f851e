// Where tags are written so that they cover neither each other nor a mark: below,
// above, right or left of their mark, the first of these that is free.
import type { XY } from './view'

export interface Label { x: number; y: number } // the middle of the text

interface Rect { x: number; y: number; w: number; h: number }

const hits = (a: Rect, b: Rect): boolean => Math.abs(a.x - b.x) * 2 < a.w + b.w && Math.abs(a.y - b.y) * 2 < a.h + b.h

// labels places a text of wides[i] by high at each mark of radii[i]. Where no
// side is free it stands below all the same.
export function labels(marks: readonly XY[], radii: readonly number[], wides: readonly number[], high: number): Label[] {
  const cell = Math.max(...wides, ...radii.map((r) => 2 * r), high, 1e-6)
  const taken = new Map<string, Rect[]>()
  const key = (x: number, y: number): string => `${Math.floor(x / cell)} ${Math.floor(y / cell)}`
  const take = (r: Rect): void => {
    const list = taken.get(key(r.x, r.y))
    if (list) list.push(r)
    else taken.set(key(r.x, r.y), [r])
  }
  const free = (r: Rect): boolean => {
    for (const dx of [-cell, 0, cell]) {
      for (const dy of [-cell, 0, cell]) if (taken.get(key(r.x + dx, r.y + dy))?.some((x) => hits(x, r))) return false
    }
    return true
  }
  for (const [i, [x, y]] of marks.entries()) take({ x, y, w: 1.8 * radii[i]!, h: 1.8 * radii[i]! })
  return marks.map(([x, y], i) => {
    const w = wides[i]!
    const radius = radii[i]!
    const up = radius * 1.1 + high * 0.55
    const side = radius * 1.25 + w / 2
    const sides: XY[] = [[0, up], [0, -up], [side, 0], [-side, 0], [side * 0.8, up], [-side * 0.8, up], [side * 0.8, -up], [-side * 0.8, -up]]
    const spots = sides.map(([dx, dy]) => ({ x: x + dx, y: y + dy, w, h: high }))
    const best = spots.find(free) ?? spots[0]!
    take(best)
    return { x: best.x, y: best.y }
  })
}
