// What there is on the site by name, for suggestions and for telling what a typed
// word means. Asked for when a screen opens, and not at every entry: a schedule
// rarely moves while one types.
import { signal } from '@preact/signals'
import { useEffect } from 'preact/hooks'
import type { Layout, LayoutDevice, Team } from './api'
import { get } from './request'
import { hello } from './state'

const layout = signal<Layout | null>(null)
const team = signal<{ key: string; name: string }[]>([])

export interface Names {
  devices: Map<string, LayoutDevice>
  tags: string[]
  hubs: string[]
  circuits: string[]
  rooms: string[]
  floors: string[]
  members: string[]
}

let made: { of: Layout | null; team: { name: string }[]; names: Names } | null = null

// names is what is known by now; empty lists until the process has answered.
export function names(): Names {
  const of = layout.value
  if (made && made.of === of && made.team === team.value) return made.names
  const devices = of?.devices ?? []
  const only = (list: string[]): string[] => [...new Set(list.filter(Boolean))].sort(natural)
  const built: Names = {
    devices: new Map(devices.map((d) => [d.tag, d])),
    tags: devices.filter((d) => !d.struck).map((d) => d.tag),
    hubs: of?.hubs.map((h) => h.id) ?? [],
    circuits: only(devices.map((d) => d.circuit)),
    rooms: only([...devices.map((d) => d.room), ...(of?.rooms ?? []).map((r) => r.id)]),
    floors: of?.floors.map((f) => f.id) ?? [],
    members: [...new Set(team.value.map((m) => m.name))],
  }
  made = { of, team: team.value, names: built }
  return built
}

// useNames asks for them when a screen opens.
export function useNames(): Names {
  useEffect(() => {
    const stop = new AbortController()
    get<Layout>('layout', {}, stop.signal).then((doc) => { layout.value = doc }, () => undefined)
    get<Team>('team', {}, stop.signal).then((doc) => { team.value = doc.members.map((m) => ({ key: m.key, name: m.name })) }, () => undefined)
    return () => stop.abort()
  }, [])
  return names()
}

// memberName is the name behind a key, or the start of the key.
export const memberName = (key: string): string => team.value.find((m) => m.key === key)?.name ?? key.slice(0, 8)

// natural sorts 2-9 before 2-10.
export const natural = new Intl.Collator('en', { numeric: true }).compare

export const CLASSES = ['device', 'hub', 'circuit', 'room', 'floor'] as const

// meant lists the subjects that a typed word may name.
export function meant(text: string, n: Names): string[] {
  const word = text.trim()
  if (/^(device|hub|circuit|room|floor|site|member|wall):./.test(word)) return [word]
  const found: string[] = []
  if (n.devices.has(word)) found.push(`device:${word}`)
  if (n.hubs.includes(word)) found.push(`hub:${word}`)
  if (n.circuits.includes(word)) found.push(`circuit:${word}`)
  if (n.rooms.includes(word)) found.push(`room:${word}`)
  if (n.floors.includes(word)) found.push(`floor:${word}`)
  if (word === hello.value?.site.name || word === 'site') found.push('site:site')
  return found
}

// suggest lists at most some names that have what is typed in them, those that
// begin with it first.
export function suggest(typed: string, list: string[], most = 30): string[] {
  const word = typed.trim().toLowerCase()
  if (word === '') return list.slice(0, most)
  const begin: string[] = []
  const within: string[] = []
  for (const name of list) {
    const at = name.toLowerCase().indexOf(word)
    if (at === 0) begin.push(name)
    else if (at > 0) within.push(name)
    if (begin.length >= most) break
  }
  return [...begin, ...within].slice(0, most)
}

// everything is all names a subject may have, for one field.
export const everything = (n: Names): string[] => [...n.hubs, ...n.circuits, ...n.rooms, ...n.tags]

// hurts says what to mind about a subject: an emergency device carries its caution
// wherever it is named.
export function emergency(subject: string, n: Names): string | undefined {
  const [cls, id = ''] = [subject.slice(0, subject.indexOf(':')), subject.slice(subject.indexOf(':') + 1)]
  const is = cls === 'device' ? n.devices.get(id)?.emergency : undefined
  return is ? hello.value?.cautions.emergency : undefined
}
