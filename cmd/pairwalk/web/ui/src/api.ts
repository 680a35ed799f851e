// The documents that the process answers with. Times are RFC 3339 in the site's
// zone, or "" for none.

export interface Hello {
  v: number
  page: string // digest of the bundle; a page of another one reloads itself
  site: { id: string; name: string; zone: string; practice: boolean }
  me: { name: string; key: string; role: string }
  beyond: boolean // this page came over a network: each entry says who is speaking
  now: string // this device's clock
  refused: string[] // the reasons there are
  skipped: string[]
  severities: string[]
  kinds: string[] // of devices
  tests: string[]
  permit: string // the caution that stands everywhere
  cautions: { push: string; power: string; hold: string; mains: string; emergency: string }
}

export interface Strip {
  unsent: number // entries that only this device holds
  entries: number
  last: { member: string; at: string } | null // the latest exchange
  within: string[] // who is within reach now
  addrs: string[] // where others can call
  conflicts: number
  faults: number
  clocks: { member: string; by_ms: number }[] // whose clock differs by a minute or more: theirs less ours
  broken: string // why nothing can be recorded now, "" if it can
  pictures_away: number // pictures that entries speak of and that are not on this device
  layout: number // another with another layout
  team: number // another where more of the team's answer is another than entries tell
}

export interface Pictures {
  pictures: { sha256: string; bytes: number; state: 'held' | 'coming' | 'missing' | 'too-large' | 'damaged'; got: number; by: string; held_by: string[] }[]
}

export interface Step {
  act: string
  subject: string // class:id
  hub?: string
  how?: string
  why: string
  cautions?: string[]
}

export interface Settle {
  hub: string
  verdict: 'ready' | 'ask' | 'wait' | 'blocked' | 'nothing'
  at: string // by this device's clock
  reasons: { kind: string; words: string; subjects: string[]; events: string[] }[]
  ask: { member: string; since: string }[]
  heard: { member: string; through: string }[]
}

export interface Now {
  steps: Step[] // at most 40
  more: number
  settle: Settle[]
  mine: string[] // hubs that I am assigned to or at work on
  devices: Record<string, Device> // those the steps name
  hubs: Hub[]
  needs: { words: string; screen: string; subject: string }[] // what waits for somebody's decision
}

export interface Hubs { hubs: Hub[]; settle: Settle[] }

export interface Device {
  tag: string
  hub: string
  kind: string
  radio: string
  floor?: string
  room?: string
  emergency?: boolean
  how?: string // the way its kind is usually paired
  state: 'listed' | 'fitted' | 'paired' | 'settled' | 'pushed'
  serial: string
  since: string
  by: string
  event: string
  paired_at: string
  pushed: string
  missed: boolean
  heard_at: string
  needs: string[]
  flags: string[]
}

export interface Hub {
  id: string
  ready: boolean
  why?: string
  channel: Record<string, number>
  program: string
  listed: number
  paired: number
  pushed: number
  event?: string
  assigned?: string[]
}

export interface Conflict {
  key: string
  kind: string
  subjects: string[]
  events: string[]
  stands: string
  why: string
  offers?: { stands: string; words: string }[]
}

export interface Fault {
  id: string
  event: string // the ref of the entry that found it
  subject: string
  symptom: string
  severity: string
  open: boolean
  since: string
  by: string
  owner?: string
  trade?: string
}

export interface Hold { subject: string; why: string; who?: string; since: string; by: string }

export interface Anomaly { event: string; kind: string; subject: string; why: string }

export interface Moment { when: string; known: string }

export interface Status {
  moment: Moment
  members: { name: string; key: string; role: string; standing: string; why?: string }[]
  hubs: Hub[]
  devices: Device[]
  circuits: { id: string; off: boolean; feeds: number; learned?: string[] }[]
  conflicts: Conflict[]
  faults: Fault[]
  holds: Hold[]
  anomalies: Anomaly[]
  quarantined: number
  not_understood: number
  entries: number
}

export interface Trouble {
  conflicts: Conflict[]
  faults: Fault[]
  holds: Hold[]
  anomalies: Anomaly[]
  quarantined: Entry[] // kept and not counted, and why
  not_understood: Entry[]
}

// Entry is one entry of the log.
export interface Entry {
  ref: string
  id: string
  at: string
  placed: boolean
  kind: string
  member: string
  by: string
  words: string
  body?: Record<string, unknown>
  when?: [string, string]
  withdrawn?: string
  quarantined?: string
}

export interface Story { entries: Entry[]; more: boolean; total: number } // the latest first

export interface Reach {
  moment: Moment
  model: string
  supposed?: string[]
  devices: ReachDevice[]
  islands: { hub: string; devices: string[]; sure: boolean; why: string }[]
  single_points: { id: string; kind: 'device' | 'circuit'; hub: string; strands: string[]; dark?: string[]; learned?: string[] }[]
  change?: { lost: string[]; gained: string[]; weaker: string[]; shaken: string[]; doubtful: string[]; dark: string[] }
  relay?: { hub: string; floor?: string; place_mm: [number, number, number]; gains: string[]; frees: string[]; why: string }
  notes: string[]
  cautions?: string[]
}

export interface ReachDevice {
  tag: string
  hub: string
  ok: 'yes' | 'no' | 'unknown'
  basis: 'observed' | 'measured' | 'predicted' | 'none'
  hops: number
  path: string[] // device … hub
  margin_cdb: [number, number] | null
  probability_ppm: [number, number] | null
  disjoint: boolean | null
  since?: string
  why: string
}

// Layout is where things are: what does not move while one scrubs.
export interface Layout {
  floors: { id: string; level: number; elevation_mm: number }[]
  rooms: { id: string; floor: string }[]
  walls: { floor: string; material: string; thickness_mm: number; line_mm: [number, number][] }[]
  drawings: { floor: string; sha256: string; type: string; corner_mm: [number, number]; pixel_um: number; turn_mdeg: number }[]
  hubs: { id: string; floor: string; room: string; place_mm: [number, number, number] | null }[]
  devices: LayoutDevice[]
}

export interface LayoutDevice {
  tag: string
  hub: string
  kind: string
  radio: string
  router: boolean
  floor: string
  room: string
  circuit: string
  emergency: boolean
  struck: boolean
  place_mm: [number, number, number] | null
  accuracy_mm: number
}

// Course is how every device went through its states. Times are ms since 1970.
export interface Course {
  known: string
  from: number
  to: number
  devices: string[]
  turns: Turn[] // in order
  marks: { at: number; kind: string; words: string; ref: string; subjects: string[] }[] // the moments that matter
  mark: string // where it ends: what comes after it can be asked for
  after: string // the mark that this follows, '' for all of it
}

// Turn is [at, device, state, settles, marks]: state is an index into STATES, and
// settles the ms at which a paired mesh device counts as settled, 0 for none;
// marks is letters: s struck, d dark, h hold, k skipped, r refused, m missed,
// f fault, g gone.
export type Turn = [number, number, number, number, string]

export const STATES = ['listed', 'fitted', 'paired', 'settled', 'pushed'] as const

export interface Subject {
  subject: string
  moment: Moment
  device?: Device
  reach?: ReachDevice
  legs?: { from: string; to: string; basis: 'measured' | 'predicted'; margin_cdb: [number, number]; probability_ppm: [number, number] }[] // one for each hop
  strands?: Reach['single_points']
  hub?: Hub
  circuit?: { id: string; off: boolean; feeds: number; learned?: string[] }
  devices?: Device[]
  conflicts: Conflict[]
  faults: Fault[]
  holds: Hold[]
  causes?: { fact: string; words: string; at: string; by: string; event: string }[]
}

export interface Logged {
  entries: Entry[]
  flagged: string[] // rules of the trade that it broke
  not_counted: string[]
  cautions: string[]
  again: boolean // it had been taken before: this was a repeat
}

export interface Team {
  members: {
    name: string; key: string; role: string; standing: string; why?: string; contact?: string
    joined: string; you?: boolean; entries: number; heard: Record<string, number>
    through?: string // their log is held here whole up to then, by this device's clock
  }[]
  unsent: number
  within: { member: string; addr: string }[]
  addrs: string[]
  calls: { addr: string; up: boolean; member: string; why: string }[]
  refusals: { why: string; from: string; count: number; last: string }[]
  meetings: string[]
}

export interface Invite { token: string; expires: string; role: string; meets: string[]; modules: string[] } // rows of 0 and 1, quiet zone included

export interface Import {
  kind: string
  table?: string
  dry_run: boolean
  taken: number
  adds: number
  amends: number
  renames: number
  strikes: number
  entries: number
  rows: number // good ones
  same: number
  lines: string[] // the diff in words; of a field sheet, its rows
  problems: string[] // rows that can't be taken
  notes: string[]
  flagged: string[]
}

export interface Channels {
  basis: string
  hubs: { id: string; now: number; plan: number; kept: boolean; cost: number; now_cost: number; why: string; moves: string[] }[]
  cost: number // thousandths of a device
  now_cost: number
  lower_bound: number
  exact: boolean
  fewest: number
  notes: string[]
}

export interface Walk {
  from: string
  model: string
  finish: string
  people: { member: string; metres: number; ends: string; steps: { tag: string; at: string; via: string; act: string; subject: string; hub: string; until: string; why?: string; cautions?: string[] }[] }[]
  hubs: { id: string; ready: string; paired: string; settled: string; pushed: string; proved: string }[]
  notes: string[]
}

export interface Settings { settings: { key: string; value: string; default: string; unit: string; doc: string; set: boolean }[] }

export interface Homecoming { export: string; same: number; differences: { row: number; tag: string; kind: string; words: string }[] }

export interface Received { words: string; fresh: number; known: number; waiting: string[]; conflicts: string[] }

export interface Label { form: string; serial: string; gtin: string; eui64: string; secret: boolean; text: string; notes: string[] }

export interface Finding {
  kind: string
  area: 'disk' | 'clock' | 'keys' | 'journal' | 'peers' | 'mark'
  state: 'well' | 'look' | 'wrong'
  words: string
  do?: string
  run?: string // a command line
}

export interface Doctor { state: 'well' | 'look' | 'wrong'; findings: Finding[] }
