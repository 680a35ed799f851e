// What can be logged after the fact: for each act its fields in the order they are
// asked, and the entry they make.
import type { Hello } from '../api'
import * as entries from '../entries'
import type { NewEntry } from '../entries'

// Fields by name; what kind of field each is, late.tsx knows.
export type FieldName =
  | 'device' | 'hub' | 'serial' | 'old' | 'how' | 'refused' | 'skipped' | 'why' | 'note' | 'radio' | 'channel' | 'program' | 'lists'
  | 'powered' | 'dark' | 'missed' | 'of' | 'who' | 'symptom' | 'severity' | 'trade' | 'owner' | 'action'
  | 'test' | 'pass' | 'reading' | 'instrument' | 'limit' | 'text' | 'a' | 'b' | 'rssi' | 'pdr' | 'lqi'

export type Values = Partial<Record<FieldName, string>> & { source?: 'scan' | 'typed'; label?: string }

export interface Act {
  need: FieldName[]
  may: FieldName[]
  make: (v: Required<Record<FieldName, string>>, whole: Values) => NewEntry
  cautions?: (c: Hello['cautions']) => string[]
}

export const listOf = (text: string): string[] => [...new Set(text.split(/[,;\s]+/).filter(Boolean))]

// strange says whether a time can't be one, so that it is said at its field; the
// process reads it for good.
export function strange(when: string): boolean {
  return when.split('..').some((end) => {
    const text = end.trim().toLowerCase()
    if (text === 'now' || text === '' || /^-\d+[hms]/.test(text)) return text === '' && when.trim() !== ''
    const found = /(\d{1,2}):(\d{2})/.exec(text)
    return !found || Number(found[1]) > 23 || Number(found[2]) > 59
  })
}

// number reads what a person types, with a comma or a real minus too.
export const number = (text: string): number | undefined => {
  const tidy = text.trim().replace('−', '-').replace(',', '.')
  return tidy === '' ? undefined : Number(tidy)
}

const whole = (text: string): number | undefined => {
  const n = number(text)
  return n === undefined ? undefined : Math.round(n)
}

export const ACTS: Record<string, Act> = {
  'device.paired': { need: ['device', 'hub'], may: ['serial', 'how'], make: (v) => entries.paired(v.device, v.hub, v.serial, v.how) },
  'device.fitted': { need: ['device', 'serial'], may: [], make: (v, all) => entries.fitted(v.device, v.serial, all.source === 'scan' ? 'scan' : 'paper', all.label) },
  'device.refused': { need: ['device', 'refused'], may: ['note'], make: (v) => entries.refused(v.device, v.refused, v.note) },
  'device.skipped': { need: ['device', 'skipped'], may: ['note'], make: (v) => entries.skipped(v.device, v.skipped, v.note) },
  'device.unpaired': { need: ['device', 'why'], may: [], make: (v) => entries.unpaired(v.device, v.why) },
  'device.replaced': { need: ['device', 'serial', 'why'], may: ['old'], make: (v) => entries.replaced(v.device, v.old, v.serial, v.why), cautions: (c) => [c.mains] },
  'device.heard': { need: ['device', 'hub'], may: ['rssi'], make: (v) => entries.heard(v.device, v.hub, whole(v.rssi)) },
  'hub.ready': { need: ['hub'], may: [], make: (v) => entries.hubReady(v.hub) },
  'hub.lost': { need: ['hub', 'why'], may: [], make: (v) => entries.hubLost(v.hub, v.why) },
  'hub.channel': { need: ['hub', 'channel'], may: ['radio'], make: (v) => entries.hubChannel(v.hub, whole(v.channel) ?? 0, v.radio || 'mesh') },
  'hub.loaded': {
    need: ['hub', 'program'], may: ['lists'],
    make: (v) => entries.hubLoaded(v.hub, v.program, listOf(v.lists)),
  },
  'power.off': { need: ['powered'], may: ['dark'], make: (v) => entries.powerOff(v.powered, listOf(v.dark)), cautions: (c) => [c.power, c.mains] },
  'power.on': { need: ['powered'], may: [], make: (v) => entries.powerOn(v.powered), cautions: (c) => [c.power] },
  'push.done': { need: ['hub', 'program'], may: ['missed'], make: (v) => entries.pushed(v.hub, v.program, listOf(v.missed)), cautions: (c) => [c.push] },
  'push.failed': { need: ['hub', 'why'], may: [], make: (v) => entries.pushFailed(v.hub, v.why), cautions: (c) => [c.push] },
  'hold.placed': { need: ['of', 'why'], may: ['who'], make: (v) => entries.hold(v.of, v.why, v.who), cautions: (c) => [c.hold] },
  'hold.lifted': { need: ['of'], may: ['note'], make: (v) => entries.lift(v.of, v.note), cautions: (c) => [c.hold] },
  'fault.found': { need: ['of', 'symptom', 'severity'], may: ['trade', 'owner', 'action'], make: (v) => entries.fault(v.of, v.symptom, v.severity, v.trade, v.owner, v.action), cautions: (c) => [c.mains] },
  'check.done': {
    need: ['of', 'test', 'pass'], may: ['reading', 'limit', 'instrument', 'note'],
    make: (v) => entries.check(v.of, v.test, v.pass === 'yes', v.reading, v.instrument, v.limit, v.note), cautions: (c) => [c.push],
  },
  'note.added': { need: ['of', 'text'], may: [], make: (v) => entries.note(v.of, v.text) },
  'link.measured': {
    need: ['a', 'b'], may: ['rssi', 'pdr', 'lqi'],
    make: (v) => entries.measured(v.a, v.b, whole(v.rssi), v.pdr.trim() ? Math.round((number(v.pdr) ?? 0) * 10000) : undefined, whole(v.lqi)),
  },
}

export const ACT_NAMES = Object.keys(ACTS)

const NAMES: FieldName[] = [
  'device', 'hub', 'serial', 'old', 'how', 'refused', 'skipped', 'why', 'note', 'radio', 'channel', 'program', 'lists', 'powered', 'dark', 'missed', 'of', 'who',
  'symptom', 'severity', 'trade', 'owner', 'action', 'test', 'pass', 'reading', 'instrument', 'limit', 'text', 'a', 'b', 'rssi', 'pdr', 'lqi',
]

// filled is the values with every field there, without space at the ends.
export function filled(v: Values): Required<Record<FieldName, string>> {
  return Object.fromEntries(NAMES.map((n) => [n, (v[n] ?? '').trim()])) as Required<Record<FieldName, string>>
}

// lacking lists what must still be said.
export function lacking(act: Act, v: Values): FieldName[] {
  const said = filled(v)
  const lacks = act.need.filter((n) => !said[n])
  if (act === ACTS['link.measured'] && !lacks.length && !said.rssi && !said.pdr && !said.lqi) return ['rssi']
  const bad = (['channel', 'rssi', 'pdr', 'lqi'] as const).filter((n) => [...act.need, ...act.may].includes(n) && Number.isNaN(number(said[n])))
  return [...lacks, ...bad]
}
