// Differences as people read them: under the entry that did them, and alike ones
// together.
import type { Change } from '../api_callback'

export interface Alike { what: string; before: string; after: string; names: string[]; subjects: string[] }
export interface Doing { key: string; event: string; of: Change; alike: Alike[] }

// grouped puts differences under their entries, in the order they came in. What no
// entry did stands under why.
export function grouped(changes: Change[]): Doing[] {
  const doings = new Map<string, Doing>()
  for (const c of changes) {
    const key = c.event || `why ${c.why ?? c.words}`
    let d = doings.get(key)
    if (!d) doings.set(key, (d = { key, event: c.event, of: c, alike: [] }))
    const same = d.alike.find((a) => a.what === c.what && a.before === c.before && a.after === c.after)
    if (same) {
      same.names.push(c.name)
      same.subjects.push(c.subject)
    } else {
      d.alike.push({ what: c.what, before: c.before, after: c.after, names: [c.name], subjects: [c.subject] })
    }
  }
  return [...doings.values()]
}
