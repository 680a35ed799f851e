// What a page can say to the log: one function a kind, with its fields in the order
// the log writes them. Empty fields are left out.

export interface NewEntry {
  kind: string
  body: Record<string, unknown>
  when?: string // 14:05, 09:40..10:10, yesterday 17:00; now if left out
}

function entry(kind: string, body: Record<string, unknown>): NewEntry {
  const said: Record<string, unknown> = {}
  for (const [key, value] of Object.entries(body)) {
    const empty = value === undefined || value === null || value === '' || value === false || (Array.isArray(value) && value.length === 0)
    if (!empty) said[key] = value
  }
  return { kind, body: said }
}

export const hubReady = (hub: string) => entry('hub.ready', { hub })
export const hubLost = (hub: string, why: string) => entry('hub.lost', { hub, why })
export const hubChannel = (hub: string, channel: number, radio = 'mesh') => entry('hub.channel', { hub, radio, channel })
// A program lists some devices, or all of its hub.
export const hubLoaded = (hub: string, program: string, lists: string[] = []) => entry('hub.loaded', { hub, program, lists, all: lists.length === 0 })
export const fitted = (device: string, serial: string, source: 'scan' | 'typed' | 'paper', label = '') => entry('device.fitted', { device, serial, label, source })
export const paired = (device: string, hub: string, serial: string, how: string) => entry('device.paired', { device, hub, serial, how })
export const refused = (device: string, why: string, note = '') => entry('device.refused', { device, why, note })
export const skipped = (device: string, why: string, note = '') => entry('device.skipped', { device, why, note })
export const unpaired = (device: string, why: string) => entry('device.unpaired', { device, why })
export const replaced = (device: string, old: string, serial: string, why: string) => entry('device.replaced', { device, old, new: serial, why })
export const heard = (device: string, hub: string, rssi?: number) => entry('device.heard', { device, hub, rssi_dbm: rssi })
export const placed = (device: string, place: [number, number, number], accuracy = 0) => entry('device.placed', { device, place, accuracy_mm: accuracy || undefined })
export const measured = (a: string, b: string, rssi?: number, pdr?: number, lqi?: number) => entry('link.measured', { a, b, rssi_dbm: rssi, pdr_ppm: pdr, lqi })
export const powerOff = (of: string, dark: string[] = []) => entry('power.off', { of, dark })
export const powerOn = (of: string) => entry('power.on', { of })
export const hold = (of: string, why: string, who = '') => entry('hold.placed', { of, why, who })
export const lift = (of: string, note = '') => entry('hold.lifted', { of, note })
export const pushed = (hub: string, program: string, missed: string[] = [], tried: string[] = [], began?: number) => entry('push.done', { hub, program, began, tried, missed })
export const pushFailed = (hub: string, why: string) => entry('push.failed', { hub, why })
export const fault = (of: string, symptom: string, severity: string, trade = '', owner = '', action = '') => entry('fault.found', { of, symptom, severity, trade, owner, action })
export const faultAssigned = (ref: string, trade: string, owner: string, action = '') => entry('fault.assigned', { fault: ref, trade, owner, action })
export const faultCleared = (ref: string, action: string) => entry('fault.cleared', { fault: ref, action })
export const faultReopened = (ref: string, why: string) => entry('fault.reopened', { fault: ref, why })
export const check = (of: string, test: string, pass: boolean, reading = '', instrument = '', limit = '', note = '') => {
  const e = entry('check.done', { of, test, reading, instrument, limit, pass: 'said', note })
  e.body.pass = pass // in its place, and also where it is false
  return e
}
export const note = (of: string, text: string) => entry('note.added', { of, text })
export const signed = (of: string, scope: string, signer: string, as: string) => entry('work.signed', { of, scope, signer, as })
