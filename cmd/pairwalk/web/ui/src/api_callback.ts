// The documents of the callback, the checks, the faults and the pack.
import type { Moment } from './api'

export interface Evidence { words: string; event: string; at: string; by: string } // by "": computed

export interface Cause {
  kind: string
  subject: string
  devices: string[]
  words: string
  weight: number
  events: string[]
  for: Evidence[]
  against: Evidence[]
  check: string[]
  cautions: string[]
  record: string[] // command lines
  counterfactual: string
  acted: string[] // who acted on what they knew
}

export interface Explain {
  subject: string
  devices: string[]
  symptom: string
  from: string
  to: string
  known: string
  head: string
  silence?: { signed_at: string; by: string; as: string; event: string; days: number; entries: number; within: number; newest?: string }
  ask: string[]
  causes: Cause[] // likeliest first
  left: string[] // devices that no cause explains
  nothing: boolean
  open: boolean // nothing that happened explains it well
  notes: Evidence[] // noted since, the newest first
  words: string
  caution: string
}

export interface Change {
  subject: string
  name: string
  floor?: string
  hub?: string
  what: string
  before: string
  after: string
  event: string // "" where no single entry did it
  kind?: string
  at: string
  span?: string[]
  logged: string
  placed: boolean
  by: string
  member?: string
  entry?: string
  why?: string
  words: string
  told?: string
  knew: { member: string; at: string }[]
  not_known: string[]
}

export interface Differs {
  from: Moment
  to: Moment
  subject: string
  changes: Change[]
  passing: { subject: string; what: string; words: string; from: string; to: string; began: string; ended: string; touched?: string[] }[]
  cautions?: string[]
}

export interface CheckResult { of: string; pass: boolean; reading: string; instrument: string; limit: string; at: string; by: string; event: string; note: string; repeats?: string; stale?: string }

export interface CheckTest {
  test: string
  of: string
  devices: string[]
  from: string // plan, schedule, sample, log
  why: string
  limits: { name: string; value: number; unit: string; source: string; words: string }[]
  verify: string[]
  state: 'owed' | 'passed' | 'failed' | 'stale'
  owed: boolean
  waits?: string
  cautions: string[]
  results: CheckResult[]
}

export interface CheckRoom { room: string; floor: string; tests: CheckTest[]; owed: number; unknown?: string }

export interface Checks {
  moment: Moment
  rule: { all_up_to: number; percent: number; widen_percent: number; source: string }
  groups: { test: string; type: string; geometry: string; devices: string[]; drawn: string[]; failed: number; passed: number; failed_devices: string[]; passed_devices: string[]; widened: boolean; words: string }[]
  rooms: CheckRoom[]
  signed: { of: string; scope: string; signer: string; as: string; at: string; by: string; event: string; owed: number; left: string[]; faults: string[] }[]
  owed: number
  remarks: string[]
}

export interface FaultStory {
  id: string
  subject: string
  floor: string
  room: string
  place: [number, number, number] | null
  symptom: string
  severity: string
  trade: string
  owner: string
  action: string
  state: 'open' | 'assigned' | 'cleared' | 'reopened'
  found_at: string
  by: string
  age_days: number
  event: string
  history: { what: string; at: string; by: string; words: string; event: string }[]
  photos: { sha256: string; caption: string; at: string }[]
}

// Faults has, where the first were asked for, how many stand and are cleared in all.
export interface Faults { moment: Moment; faults: FaultStory[]; standing?: number; cleared?: number }

// Pack is what the owner's pack of now would have, and what it lacks.
export interface Pack {
  moment: string
  entries: number
  bytes: number
  files: { name: string; bytes: number; sha256: string }[]
  missing: { asks: { words: string; needed: boolean }[]; photos: string[]; tests: number; faults: number }
  signed: string
}
