// What an answer about reach puts on the picture, and what it adds to the words of
// each device: the same from one place, so that picture and list agree.
import type { Reach, ReachDevice } from '../api'
import { legs, type Floor, type Place } from './floor'
import { hull } from './pick'
import type { Ring, Scene, Sure } from './scene'
import type { XY } from './view'

export interface Shown { islands: boolean; single: boolean }

type Words = (key: 'island' | 'single' | 'circuit' | 'lost' | 'dark' | 'weaker' | 'shaken' | 'doubtful' | 'gained', fill?: Record<string, string | number>) => string

const RING_OF: Record<string, Ring> = { lost: 'lost', dark: 'dark', weaker: 'weaker', shaken: 'weaker', doubtful: 'weaker', gained: 'gained' }
const KINDS = ['lost', 'dark', 'weaker', 'shaken', 'doubtful', 'gained'] as const

// sceneOf draws only what the answer says. A floor without a place for something
// shows nothing of it.
export function sceneOf(floor: Floor, places: ReadonlyMap<string, Place>, reach: Reach | null, chosen: string, shown: Shown, words: Words, elsewhere: (floor: string) => string): Scene {
  const scene: Scene = { path: null, islands: [], rings: [], cross: false }
  const at = (tag: string): XY | null => {
    const p = places.get(tag)
    return p?.placed && p.floor === floor.id ? [p.x, p.y] : null
  }
  const ring = (tag: string, kind: Ring): void => {
    const xy = at(tag)
    if (xy) scene.rings.push({ at: xy, ring: kind })
  }
  if (reach && shown.islands) {
    for (const x of reach.islands) {
      const points = hull(x.devices.map(at).filter((p): p is XY => p !== null))
      if (points.length) scene.islands.push({ points, sure: x.sure, words: words('island', { n: x.devices.length }) })
    }
  }
  if (reach && shown.single) for (const p of reach.single_points) if (p.kind === 'device') ring(p.id, 'single')
  if (reach?.change) for (const kind of KINDS) for (const tag of reach.change[kind]) ring(tag, RING_OF[kind]!)
  const way = reach?.devices.find((d) => d.tag === chosen)
  if (way) scene.path = pathOf(way, floor, places, at, elsewhere)
  if (way && shown.single) {
    for (const p of reach!.single_points) if (p.kind === 'device' && p.id === chosen) for (const tag of p.strands) ring(tag, 'strands')
  }
  if (chosen) ring(chosen, 'chosen') // a device's or a hub's
  return scene
}

function pathOf(way: ReachDevice, floor: Floor, places: ReadonlyMap<string, Place>, at: (tag: string) => XY | null, elsewhere: (floor: string) => string): Scene['path'] {
  if (way.path.length < 2) return null
  const sure: Sure = way.ok !== 'yes' ? 'possible' : way.basis === 'measured' ? 'measured' : 'likely'
  // Where it leaves the floor, the last hop on it says to which one.
  const out = way.path.findIndex((id, i) => at(id) !== null && i + 1 < way.path.length && at(way.path[i + 1]!) === null)
  const next = out < 0 ? undefined : places.get(way.path[out + 1]!)
  const leaves = next && next.floor !== floor.id ? elsewhere(next.floor) : ''
  const home = at(way.path.at(-1)!) !== null && at(way.path.at(-2)!) !== null
  return { legs: legs(way.path, places, floor.id), home, sure, end: out < 0 ? null : at(way.path[out]!), words: leaves }
}

// notesOf is what the list says of devices beside their own way home.
export function notesOf(reach: Reach | null, words: Words): Map<string, string[]> {
  const out = new Map<string, string[]>()
  if (!reach) return out
  const add = (tag: string, w: string): void => {
    const list = out.get(tag)
    if (list) list.push(w)
    else out.set(tag, [w])
  }
  for (const x of reach.islands) for (const tag of x.devices) add(tag, words('island', { n: x.devices.length }))
  for (const p of reach.single_points) if (p.kind === 'device') add(p.id, words('single', { n: p.strands.length }))
  if (reach.change) for (const kind of KINDS) for (const tag of reach.change[kind]) add(tag, words(kind))
  return out
}
