// Entries on their way to the log. What is tapped is kept in the browser's own
// storage first, then sent, and sent again until the process has answered: a
// process that is stopped, a reload or a second tab lose nothing. Each entry has a
// number of its own that goes into the log with it, so that one that is sent twice
// is recorded once.
import { signal } from '@preact/signals'
import type { Logged } from './api'
import type { NewEntry } from './entries'
import { Refused, Unreached, request } from './request'
import { hello, reached, speaker } from './state'

export interface Draft {
  once: string // 20 hex digits
  entries: NewEntry[]
  by: string
  words: string // what it says, to a person
  problem?: string // the process refused it: to be mended or thrown away
}

const BOX = 'pairwalk.outbox'

function read(): Draft[] {
  try {
    return JSON.parse(localStorage.getItem(BOX) ?? '[]') as Draft[]
  } catch {
    return []
  }
}

export const outbox = signal<Draft[]>(read())
window.addEventListener('storage', (e) => { if (e.key === BOX) outbox.value = read() })

function change(f: (box: Draft[]) => Draft[]): void {
  const box = f(read())
  localStorage.setItem(BOX, JSON.stringify(box))
  outbox.value = box
}

// said is what was recorded last, for the line that offers to take it back.
export interface SaidNow { words: string; logged: Logged; at: number }
export const said = signal<SaidNow | null>(null)

// waiting are promises of record() by draft.
const waiting = new Map<string, { done: (l: Logged) => void; fail: (e: Error) => void }>()

export function newOnce(): string {
  return Array.from(crypto.getRandomValues(new Uint8Array(10)), (b) => b.toString(16).padStart(2, '0')).join('')
}

// record puts entries in the log, all or none. It settles when the process has
// them on disk, or has refused them; while the process is away it waits.
export function record(entries: NewEntry[], words: string): Promise<Logged> {
  const draft: Draft = { once: newOnce(), entries, by: hello.value?.beyond ? speaker.value : '', words }
  change((box) => [...box, draft])
  const result = new Promise<Logged>((done, fail) => waiting.set(draft.once, { done, fail }))
  void flush()
  return result
}

export function throwAway(once: string): void {
  change((box) => box.filter((d) => d.once !== once))
}

export function tryAgain(once: string): void {
  change((box) => box.map((d) => (d.once === once ? { ...d, problem: undefined } : d)))
  void flush()
}

let busy = false

// flush sends what waits, the oldest first.
export async function flush(): Promise<void> {
  if (busy) return
  busy = true
  try {
    for (let draft = next(); draft; draft = next()) await sendOne(draft)
  } catch (problem) {
    if (!(problem instanceof Unreached)) throw problem
    reached.value = false // the change stream tries again, and flushes then
  } finally {
    busy = false
  }
}

const next = (): Draft | undefined => read().find((d) => d.problem === undefined)

async function sendOne(draft: Draft): Promise<void> {
  const wait = waiting.get(draft.once)
  try {
    const answer = await request('POST', 'log', { json: { once: draft.once, by: draft.by, entries: draft.entries }, doer: draft.by })
    const logged = (await answer.json()) as Logged
    throwAway(draft.once)
    said.value = { words: draft.words, logged, at: Date.now() }
    wait?.done(logged)
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem
    if (problem.status === 401) throw new Unreached('log')
    change((box) => box.map((d) => (d.once === draft.once ? { ...d, problem: problem.message } : d)))
    wait?.fail(problem)
  }
  waiting.delete(draft.once)
}
