// The families of entries that the story can be narrowed to, each a list of kinds
// or of whole families of kinds.
export const FAMILIES = {
  pairing: ['device.fitted', 'device.paired', 'device.refused', 'device.skipped', 'device.unpaired', 'device.replaced', 'device.heard'],
  hubs: ['hub.ready', 'hub.lost', 'hub.channel', 'hub.loaded'],
  power: ['power', 'hold'],
  pushes: ['push'],
  faults: ['fault'],
  checks: ['check', 'link', 'work'],
  notes: ['note', 'photo'],
  schedule: ['floor', 'room', 'hub.listed', 'hub.struck', 'device.listed', 'device.struck', 'device.renamed', 'device.placed', 'wall', 'drawing', 'wifi', 'test'],
  team: ['member', 'hub.assigned', 'clock', 'site', 'settings', 'feed'],
  records: ['records'],
  amends: ['event', 'conflict'],
} as const

export type Family = keyof typeof FAMILIES
export const FAMILY_NAMES = Object.keys(FAMILIES) as Family[]

// kindsOf is what the process is asked for: a family's kinds, or the kind itself.
export function kindsOf(kind: string): string {
  return Object.hasOwn(FAMILIES, kind) ? FAMILIES[kind as Family].join(',') : kind
}

// Kinds that stay: they can't be withdrawn, only contradicted by a new entry.
export function stays(kind: string): boolean {
  return /^(site|feed|event)\.|^member\.(joined|admitted|revoked)$/.test(kind)
}

// Kinds that a page may log plainly; the others are about the log itself.
export function isField(kind: string): boolean {
  return !/^(site|settings|feed|clock|conflict|event)\.|^member\.(joined|admitted|revoked)$/.test(kind)
}

// What a correction can change in an entry of a kind.
const CORRECTS: Record<string, ('tag' | 'serial' | 'hub')[]> = {
  'device.paired': ['tag', 'serial', 'hub'],
  'device.fitted': ['tag', 'serial'],
  'device.replaced': ['tag', 'serial'],
  'device.refused': ['tag'],
  'device.skipped': ['tag'],
  'device.unpaired': ['tag'],
  'device.heard': ['tag', 'hub'],
}

// corrects lists what a correction can change; kinds come from anybody's log.
export const corrects = (kind: string): ('tag' | 'serial' | 'hub')[] => (Object.hasOwn(CORRECTS, kind) ? CORRECTS[kind]! : [])
