// The states of all devices at any moment, from a course that was sent once. The
// reel stands at a moment and winds to another one, forwards or backwards, and says
// which devices look otherwise then.
import type { Turn } from '../api'

// ABSENT is the state of a device that nobody had spoken of yet.
export const ABSENT = 255
const PAIRED = 2
const SETTLED = 3

export const SIGNS = { struck: 1, dark: 2, hold: 4, skipped: 8, refused: 16, missed: 32, fault: 64, gone: 128 } as const
export type Sign = keyof typeof SIGNS

const LETTERS: Record<string, number> = {
  s: SIGNS.struck, d: SIGNS.dark, h: SIGNS.hold, k: SIGNS.skipped, r: SIGNS.refused, m: SIGNS.missed, f: SIGNS.fault, g: SIGNS.gone,
}

export function signsOf(letters: string): number {
  let out = 0
  for (const c of letters) out |= LETTERS[c] ?? 0
  return out
}

interface Change { at: number; device: number; state: number; signs: number; ends: boolean } // ends: a wait does, and nobody did anything

const byTime = (a: Change, b: Change): number => a.at - b.at // the sort is stable: turns of one instant stay in order

export class Reel {
  state = new Uint8Array(0)
  signs = new Uint8Array(0)
  at = -Infinity
  private changes: Change[] = []
  private before: number[] = [] // the change of the same device before it, -1 for none
  private done = 0 // how many changes are in
  private stamp = new Uint32Array(0)
  private round = 0
  private count = 0
  private turns = 0

  constructor(count: number, turns: readonly Turn[]) {
    this.grow(count, turns)
  }

  // grown is the reel of a course that has grown: its turns are those of this one and
  // some more after them. This one must not be used any more.
  grown(count: number, turns: readonly Turn[]): Reel {
    const next = new Reel(0, [])
    Object.assign(next, this)
    next.grow(count, turns.slice(this.turns))
    return next
  }

  // grow takes in more turns, none of which is before one that is in, and stands
  // before the first of them then. Ends of waits after that are put in anew: a device
  // that turns first waits no more.
  private grow(count: number, turns: readonly Turn[]): void {
    if (count > this.count) this.widen(count)
    if (!turns.length) return
    this.wind(turns[0]![0] - 1)
    const stays = this.done
    const turned = new Map<number, number>() // when devices turn next
    for (const [at, device] of turns) if (!turned.has(device)) turned.set(device, at)
    const rest = this.changes.splice(stays).filter((c) => !c.ends || !(turned.get(c.device)! <= c.at))
    this.before.length = stays
    const last = new Int32Array(this.count).fill(-1)
    for (let i = 0; i < stays; i++) last[this.changes[i]!.device] = i
    for (const c of [...rest, ...unroll(this.count, turns)].sort(byTime)) {
      this.before.push(last[c.device]!)
      last[c.device] = this.changes.length
      this.changes.push(c)
    }
    this.turns += turns.length
  }

  private widen(count: number): void {
    const wider = <A extends Uint8Array | Uint32Array>(to: A, from: A): A => {
      to.set(from)
      return to
    }
    this.state = wider(new Uint8Array(count).fill(ABSENT), this.state)
    this.signs = wider(new Uint8Array(count), this.signs)
    this.stamp = wider(new Uint32Array(count), this.stamp)
    this.count = count
  }

  // wind goes to a moment and lists the devices that changed on the way.
  wind(at: number): number[] {
    const touched: number[] = []
    this.round += 1
    const touch = (device: number): void => {
      if (this.stamp[device] === this.round) return
      this.stamp[device] = this.round
      touched.push(device)
    }
    const goal = this.countTo(at)
    while (this.done < goal) {
      const c = this.changes[this.done++]!
      this.show(c.device, c)
      touch(c.device)
    }
    while (this.done > goal) {
      const i = --this.done
      const device = this.changes[i]!.device
      this.show(device, this.changes[this.before[i]!])
      touch(device)
    }
    this.at = at
    return touched
  }

  private show(device: number, c: Change | undefined): void {
    this.state[device] = c ? c.state : ABSENT
    this.signs[device] = c ? c.signs : 0
  }

  // countTo is how many changes have come by a moment, itself included.
  private countTo(at: number): number {
    let lo = 0
    let hi = this.changes.length
    while (lo < hi) {
      const mid = (lo + hi) >> 1
      if (this.changes[mid]!.at <= at) lo = mid + 1
      else hi = mid
    }
    return lo
  }
}

// unroll makes one list of all changes in the order of time: the turns, and the
// moments at which a wait ends that no later turn has come before.
function unroll(count: number, turns: readonly Turn[]): Change[] {
  const next = new Float64Array(count).fill(Infinity)
  const out: Change[] = []
  for (let i = turns.length - 1; i >= 0; i--) {
    const [at, device, state, settles, letters] = turns[i]!
    const signs = signsOf(letters)
    const waits = state === PAIRED && settles > 0
    if (waits && settles > at && settles < next[device]!) out.push({ at: settles, device, state: SETTLED, signs, ends: true })
    out.push({ at, device, state: waits && settles <= at ? SETTLED : state, signs, ends: false })
    next[device] = at
  }
  out.reverse()
  return out.sort(byTime)
}
