// Stretches of work: steps of one act at one hub and on one floor, in a row.
import type { Layout, Walk } from '../api'

export type WalkStep = Walk['people'][number]['steps'][number]
export interface Place { floor: string; room: string }

export interface Stretch<S> { act: string; hub: string; floor: string; rooms: string[]; steps: S[] }

// places finds where devices and hubs are.
export function places(layout: Layout): (subject: string) => Place {
  const at = new Map<string, Place>()
  for (const d of layout.devices) at.set(`device:${d.tag}`, { floor: d.floor, room: d.room })
  for (const h of layout.hubs) at.set(`hub:${h.id}`, { floor: h.floor, room: h.room })
  return (subject) => at.get(subject) ?? { floor: '', room: '' }
}

export function stretches<S extends { act: string; hub?: string; subject: string }>(steps: S[], where: (subject: string) => Place): Stretch<S>[] {
  const out: Stretch<S>[] = []
  for (const step of steps) {
    const { floor, room } = where(step.subject)
    let last = out[out.length - 1]
    const single = !step.subject.startsWith('device:')
    if (!last || single || last.act !== step.act || last.hub !== (step.hub ?? '') || last.floor !== floor) {
      last = { act: step.act, hub: step.hub ?? '', floor, rooms: [], steps: [] }
      out.push(last)
    }
    if (room && !last.rooms.includes(room)) last.rooms.push(room)
    last.steps.push(step)
  }
  return out
}
