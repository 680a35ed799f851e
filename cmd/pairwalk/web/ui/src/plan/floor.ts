// What is known of one floor: what has a place, what has none, and how large it is.
import type { Layout, LayoutDevice } from '../api'
import { boxOf, type Box, type XY } from './view'

// Spot is a device with a place.
export interface Spot {
  tag: string
  device: LayoutDevice
  course: number // its place in the course, -1 where the course has not heard of it
  x: number
  y: number
}

export interface HubSpot { id: string; x: number; y: number }

export interface Floor {
  id: string
  elevation: number
  spots: Spot[]
  hubs: HubSpot[]
  unplaced: LayoutDevice[]
  walls: Layout['walls']
  drawing: Layout['drawings'][number] | null
  rooms: { id: string; x: number; y: number }[] // where a name is written: amid its devices
  box: Box | null // of what has a place, and the walls
  apart: number // mm between neighbours, usually
}

// drawn says whether there is anything to make a picture of. Hubs alone are not: a
// list says more.
export const drawn = (f: Floor): boolean => f.spots.length > 0 || f.walls.length > 0 || f.drawing !== null

// floorOf gathers a floor. Where several drawings were laid under it, the last one
// counts. courseOf gives a tag's place in the course.
export function floorOf(layout: Layout, id: string, courseOf: ReadonlyMap<string, number>): Floor {
  const f: Floor = { id, elevation: 0, spots: [], hubs: [], unplaced: [], walls: [], drawing: null, rooms: [], box: null, apart: 3_000 }
  f.elevation = layout.floors.find((x) => x.id === id)?.elevation_mm ?? 0
  for (const d of layout.devices) {
    if (d.floor !== id) continue
    if (d.place_mm) f.spots.push({ tag: d.tag, device: d, course: courseOf.get(d.tag) ?? -1, x: d.place_mm[0], y: d.place_mm[1] })
    else f.unplaced.push(d)
  }
  for (const h of layout.hubs) {
    if (h.floor === id && h.place_mm) f.hubs.push({ id: h.id, x: h.place_mm[0], y: h.place_mm[1] })
  }
  f.walls = layout.walls.filter((w) => w.floor === id)
  f.drawing = layout.drawings.filter((d) => d.floor === id).at(-1) ?? null
  f.rooms = roomsOf(f.spots)
  f.apart = apartOf(f.spots)
  const points: XY[] = [...f.spots, ...f.hubs].map((p) => [p.x, p.y])
  for (const w of f.walls) points.push(...w.line_mm)
  f.box = boxOf(points)
  return f
}

// apartOf is how far devices usually are from the nearest other one: the median of
// a sample. Those at one place, such as two in a box, say nothing.
function apartOf(spots: readonly Spot[]): number {
  const sample = spots.filter((_, i) => i % Math.ceil(spots.length / 150) === 0)
  const ways = sample.map((a) => spots.reduce((best, b) => {
    const far = Math.hypot(a.x - b.x, a.y - b.y)
    return far > 100 ? Math.min(best, far) : best
  }, Infinity)).filter(Number.isFinite).sort((x, y) => x - y)
  return ways[ways.length >> 1] ?? 3_000
}

function roomsOf(spots: readonly Spot[]): Floor['rooms'] {
  const sums = new Map<string, { n: number; x: number; y: number }>()
  for (const s of spots) {
    if (!s.device.room) continue
    const sum = sums.get(s.device.room) ?? { n: 0, x: 0, y: 0 }
    sums.set(s.device.room, { n: sum.n + 1, x: sum.x + s.x, y: sum.y + s.y })
  }
  return [...sums].map(([id, s]) => ({ id, x: s.x / s.n, y: s.y / s.n }))
}

// NOWHERE stands for devices that nobody knows the floor of.
export const NOWHERE = ''

// floorsOf lists the floors as they lie on each other, and NOWHERE last if there
// is anything there.
export function floorsOf(layout: Layout): string[] {
  const ids = layout.floors.map((f) => f.id)
  if (layout.devices.some((d) => d.floor === NOWHERE)) ids.push(NOWHERE)
  return ids
}

// places finds where devices and hubs are, on whatever floor.
export interface Place { floor: string; x: number; y: number; z: number; placed: boolean }
export function placesOf(layout: Layout): Map<string, Place> {
  const out = new Map<string, Place>()
  for (const h of layout.hubs) out.set(h.id, place(h.floor, h.place_mm))
  for (const d of layout.devices) out.set(d.tag, place(d.floor, d.place_mm))
  return out
}

const place = (floor: string, at: [number, number, number] | null): Place =>
  ({ floor, x: at?.[0] ?? 0, y: at?.[1] ?? 0, z: at?.[2] ?? 0, placed: at !== null })

// legs are the stretches of a path that both ends are known of and lie on a floor.
// The others are only told in words: nothing is drawn that nobody knows.
export function legs(path: readonly string[], places: ReadonlyMap<string, Place>, floor: string): [XY, XY][] {
  const out: [XY, XY][] = []
  for (let i = 0; i + 1 < path.length; i++) {
    const a = places.get(path[i]!)
    const b = places.get(path[i + 1]!)
    if (a?.placed && b?.placed && a.floor === floor && b.floor === floor) out.push([[a.x, a.y], [b.x, b.y]])
  }
  return out
}
