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

interface Change { at: number; device: number; state: number; signs: number }

export class Reel {
  readonly state: Uint8Array
  readonly signs: Uint8Array
  at = -Infinity
  private readonly changes: Change[]
  private readonly before: Int32Array // the change of the same device before it, -1 for none
  private done = 0 // how many changes are in
  private readonly stamp: Uint32Array
  private round = 0

  constructor(count: number, turns: readonly Turn[]) {
    this.state = new Uint8Array(count).fill(ABSENT)
    this.signs = new Uint8Array(count)
    this.stamp = new Uint32Array(count)
    this.changes = unroll(count, turns)
    this.before = new Int32Array(this.changes.length)
    const last = new Int32Array(count).fill(-1)
    this.changes.forEach((c, i) => {
      this.before[i] = last[c.device]!
      last[c.device] = i
    })
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
    if (waits && settles > at && settles < next[device]!) out.push({ at: settles, device, state: SETTLED, signs })
    out.push({ at, device, state: waits && settles <= at ? SETTLED : state, signs })
    next[device] = at
  }
  out.reverse()
  return out.sort((a, b) => a.at - b.at) // stable: turns of one instant stay in order
}
