// The scrubber: the course of the job on one slider, with the moments that matter.
import type { JSX } from 'preact'
import { useEffect, useMemo, useRef, useState } from 'preact/hooks'
import type { Course, Turn } from '../api'
import { now } from '../state'
import { clock, day, short } from '../times'
import { t } from '../words'
import { moment, moveTo, onSecond, settle, shownAt } from './desk'
import { Banner } from './head'
import { stepFrom, Timeline } from './timeline'

const FINE = 4000 // steps of the slider
const WHOLE = 24_000 // ms in which all of it is played
const BINS = 100 // of the outline of how much happened
const STEP = 1500 // ms a moment stands where nothing may move

type Mark = Course['marks'][number]

// useLine lays the time out once; it does not grow while one looks at the past.
function useLine(course: Course | null): { line: Timeline; marks: Mark[]; stops: number[] } | null {
  const minute = Math.ceil(now.value / 60_000) * 60_000
  return useMemo(() => {
    if (!course || !course.turns.length) return null
    const to = Math.max(onSecond(course.to), minute)
    const marks = [...course.marks].sort((a, b) => a.at - b.at)
    const stops = [...new Set(marks.map((m) => onSecond(m.at)))]
    const line = new Timeline(Math.min(course.from, to - 1000), to, [...course.turns.map((x) => x[0]), ...marks.map((m) => m.at)])
    return { line, marks, stops }
  }, [course, minute])
}

export function Scrubber({ course }: { course: Course | null }): JSX.Element {
  const laid = useLine(course)
  const [playing, setPlaying] = useState(false)
  usePlay(playing ? laid : null, () => setPlaying(false))
  if (!laid) return <p class="quiet">{t(course ? 'plan.time.nothing' : 'loading')}</p>
  const { line, marks, stops } = laid
  const at = shownAt.value
  const live = moment.value === null
  const move = (to: number | null): void => { setPlaying(false); moveTo(to) }
  const toStop = (way: 1 | -1): void => {
    const to = stepFrom(stops, at, way)
    if (to !== undefined) move(to)
    else if (way > 0) move(null)
  }
  const slide = (u: number): void => move(u >= FINE ? null : onSecond(line.time(u / FINE)))
  const place = live ? FINE : Math.round(line.place(at) * FINE)
  const key = (e: KeyboardEvent): void => {
    const by: Record<string, () => void> = {
      PageUp: () => toStop(1), PageDown: () => toStop(-1),
      ArrowRight: () => slide(place + FINE / 200), ArrowUp: () => slide(place + FINE / 200),
      ArrowLeft: () => slide(Math.max(0, place - FINE / 200)), ArrowDown: () => slide(Math.max(0, place - FINE / 200)),
      Home: () => slide(0), End: () => move(null),
    }
    const f = by[e.key]
    if (!f) return
    e.preventDefault()
    f()
  }
  return (
    <section class="plan-scrub" aria-label={t('plan.time')}>
      <div class="plan-track">
        <Ticks line={line} marks={marks} turns={course!.turns} at={at} />
        <input
          type="range" min={0} max={FINE} step={1} value={place} aria-label={t('plan.time')} aria-valuetext={live ? t('plan.now') : `${day(at)} ${clock(at)}`}
          onInput={(e) => slide(Number(e.currentTarget.value))} onChange={settle} onKeyDown={key}
        />
      </div>
      <div class="plan-steps">
        <button type="button" onClick={() => toStop(-1)} disabled={stepFrom(stops, at, -1) === undefined}>{t('plan.prev')}</button>
        <button type="button" aria-pressed={playing} onClick={() => { if (!playing && live) moveTo(line.from); setPlaying(!playing) }}>{t(playing ? 'plan.stop' : 'plan.play')}</button>
        <button type="button" onClick={() => toStop(1)} disabled={live}>{t('plan.next')}</button>
      </div>
      <Banner />
      <Near marks={marks} at={at} line={line} live={live} />
    </section>
  )
}

// Near names the moment that matters which is shown, or the last one before.
function Near({ marks, at, line, live }: { marks: Mark[]; at: number; line: Timeline; live: boolean }): JSX.Element | null {
  let i = marks.length - 1
  while (i >= 0 && marks[i]!.at > at) i--
  const m = marks[i]
  if (!m) return null
  const here = !live && line.place(at) - line.place(m.at) < 0.004
  return <p class="plan-near">{here ? t('plan.here') : t('plan.after', { at: short(m.at) })} <bdi>{m.words}</bdi></p>
}

// Ticks are drawn as one line a height, however many there are.
function Ticks({ line, marks, turns, at }: { line: Timeline; marks: Mark[]; turns: Turn[]; at: number }): JSX.Element {
  const { tall, low, quiet, busy } = useMemo(() => {
    const d = (list: Mark[], from: number): string => [...new Set(list.map((m) => Math.round(line.place(m.at) * 1000)))].map((x) => `M${x} ${from}V20`).join('')
    const grave = (m: Mark): boolean => ['push.done', 'hub.ready', 'hub.lost', 'power.off', 'member.revoked'].includes(m.kind)
    return {
      tall: d(marks.filter(grave), 4), low: d(marks.filter((m) => !grave(m)), 12),
      busy: busyness(line, turns),
      quiet: line.spans.filter((s) => s.quiet).map((s) => [s.u0 * 1000, (s.u1 - s.u0) * 1000] as const),
    }
  }, [line, marks, turns])
  return (
    <svg class="plan-ticks" viewBox="0 0 1000 20" preserveAspectRatio="none" aria-hidden="true">
      {quiet.map(([x, w]) => <rect key={x} class="quiet-span" x={x} y={0} width={w} height={20} />)}
      <path class="busy" d={busy} />
      <path class="tick-low" d={low} vector-effect="non-scaling-stroke" />
      <path class="tick-tall" d={tall} vector-effect="non-scaling-stroke" />
      <path class="tick-here" d={`M${line.place(at) * 1000} 0V20`} vector-effect="non-scaling-stroke" />
    </svg>
  )
}

// busyness is how much happened where, as an outline: the logarithm of the count, so that
// an import of a thousand rows does not flatten everything else.
function busyness(line: Timeline, turns: Turn[]): string {
  const counts = new Float64Array(BINS)
  for (const [at] of turns) counts[Math.min(BINS - 1, Math.floor(line.place(at) * BINS))]! += 1
  const most = Math.log1p(counts.reduce((a, b) => Math.max(a, b), 1))
  return [...counts].map((n, i) => (n ? `M${(i * 1000) / BINS} 20V${20 - (16 * Math.log1p(n)) / most}h${1000 / BINS}V20Z` : '')).join('')
}

// usePlay lets time run. Where nothing may move by itself it goes from moment to
// moment instead.
function usePlay(laid: { line: Timeline; stops: number[] } | null, done: () => void): void {
  const on = useRef(laid)
  on.current = laid
  const running = laid !== null
  useEffect(() => {
    if (!running) return undefined
    const still = matchMedia('(prefers-reduced-motion: reduce)').matches
    return still ? playSteps(on, done) : playSmooth(on, done)
  }, [running])
}

type Laid = { current: { line: Timeline; stops: number[] } | null }

function playSteps(on: Laid, done: () => void): () => void {
  const timer = setInterval(() => {
    const to = stepFrom(on.current?.stops ?? [], shownAt.value, 1)
    if (to !== undefined) return moveTo(to)
    moveTo(null)
    done()
    return undefined
  }, STEP)
  return () => clearInterval(timer)
}

function playSmooth(on: Laid, done: () => void): () => void {
  let last = 0
  let u = -1
  let frame = requestAnimationFrame(function run(time) {
    const line = on.current?.line
    if (!line) return
    if (u < 0) u = line.place(shownAt.value)
    u += last ? Math.min(time - last, 100) / WHOLE : 0
    last = time
    if (u >= 1) {
      moveTo(null)
      done()
      return
    }
    moveTo(line.time(u))
    frame = requestAnimationFrame(run)
  })
  return () => { cancelAnimationFrame(frame); settle() }
}
