// The scale of the scrubber: time runs evenly while something happens, and a night
// or a weekend in which nothing does takes no more room than a quarter of an hour
// does otherwise.

const QUIET = 75 * 60_000 // this long without anything is a gap
const TAKES = 15 * 60_000 // the room that a gap takes

export interface Span { from: number; to: number; u0: number; u1: number; quiet: boolean }

export class Timeline {
  readonly spans: Span[]

  // The instants need no order. What lies outside from..to is left out.
  constructor(readonly from: number, readonly to: number, instants: Iterable<number>) {
    this.spans = lay(from, to, instants)
  }

  // place is where an instant is, from 0 to 1.
  place(at: number): number {
    if (at <= this.from) return 0
    if (at >= this.to) return 1
    const s = this.span((x) => at <= x.to)
    return s.u0 + ((at - s.from) / (s.to - s.from)) * (s.u1 - s.u0)
  }

  // span is the first that is so, as all after it are.
  private span(so: (x: Span) => boolean): Span {
    let lo = 0
    let hi = this.spans.length - 1
    while (lo < hi) {
      const mid = (lo + hi) >> 1
      if (so(this.spans[mid]!)) hi = mid
      else lo = mid + 1
    }
    return this.spans[lo]!
  }

  // time is the instant at a place.
  time(u: number): number {
    if (u <= 0) return this.from
    if (u >= 1) return this.to
    const s = this.span((x) => u <= x.u1)
    return s.from + ((u - s.u0) / (s.u1 - s.u0)) * (s.to - s.from)
  }
}

function lay(from: number, to: number, instants: Iterable<number>): Span[] {
  const sorted = [...instants].filter((t) => t > from && t < to).sort((a, b) => a - b)
  sorted.push(to)
  const spans: { from: number; to: number; quiet: boolean }[] = []
  let last = from
  for (const t of sorted) {
    if (t === last) continue
    const quiet = t - last > QUIET
    const tail = spans[spans.length - 1]
    if (tail && !tail.quiet && !quiet) tail.to = t
    else spans.push({ from: last, to: t, quiet })
    last = t
  }
  const takes = (s: { from: number; to: number; quiet: boolean }): number => (s.quiet ? TAKES : s.to - s.from)
  const whole = spans.reduce((sum, s) => sum + takes(s), 0)
  let so = 0
  return spans.map((s) => {
    const u0 = so / whole
    so += takes(s)
    return { ...s, u0, u1: so / whole }
  })
}

// stepFrom is the nearest of sorted instants after (or before) a moment.
export function stepFrom(instants: readonly number[], at: number, way: 1 | -1): number | undefined {
  if (way > 0) return instants.find((t) => t > at)
  for (let i = instants.length - 1; i >= 0; i--) if (instants[i]! < at) return instants[i]
  return undefined
}
