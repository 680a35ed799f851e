// What the screen of the plan is set to. Everything but the moving moment is in the
// address, so that Back works and a reload comes back to it.
import { computed, effect, signal } from '@preact/signals'
import { go, now, route } from '../state'
import type { Reel } from './reel'

const FLOOR = 'pairwalk.plan.floor'

// asked is what the address says.
export const asked = computed(() => {
  const q = route.value.query
  const at = Date.parse(q.get('at') ?? '')
  return {
    floor: q.get('floor') ?? sessionStorage.getItem(FLOOR),
    device: q.get('device') ?? '',
    hub: q.get('hub') ?? '',
    at: Number.isNaN(at) ? null : at,
    knownBy: q.get('known_by') ?? '',
    without: (q.get('without') ?? '').split(',').filter(Boolean),
    planned: q.get('planned') === '1',
    list: q.get('view') === 'list',
  }
})

// turnTo changes what the address says; '' takes a word out of it.
export function turnTo(change: Record<string, string>, replace = true): void {
  if (route.value.screen !== 'plan') return // the screen was left while time ran
  const q = Object.fromEntries(route.value.query)
  for (const [key, value] of Object.entries(change)) {
    if (value === '' && key !== 'floor') delete q[key]
    else q[key] = value
  }
  if (change.floor !== undefined) sessionStorage.setItem(FLOOR, change.floor)
  go('plan', q, replace)
}

export const choose = (tag: string): void => turnTo({ device: tag, hub: '' })
export const chooseHub = (id: string): void => turnTo({ hub: id, device: '' })

// iso is a moment as the process reads it, to the second.
export const iso = (at: number): string => new Date(at).toISOString().replace('.000Z', 'Z')

// onSecond is the first whole second that a moment is over in.
export const onSecond = (at: number): number => Math.ceil(at / 1000) * 1000

// moment is the one shown, null for now; it moves with the scrubber. rest is where it
// came to rest: what is asked of the process is asked for that.
export const moment = signal<number | null>(asked.value.at)
export const rest = signal<number | null>(asked.value.at)
export const past = computed(() => moment.value !== null || asked.value.knownBy !== '')
export const shownAt = computed(() => moment.value ?? now.value)

const REST = 250
let timer = 0

export function moveTo(at: number | null): void {
  moment.value = at === null ? null : onSecond(at)
  clearTimeout(timer)
  timer = window.setTimeout(settle, REST)
}

export function settle(): void {
  clearTimeout(timer)
  timer = 0
  if (rest.value !== moment.value) rest.value = moment.value
  if (asked.value.at !== moment.value) turnTo({ at: moment.value === null ? '' : iso(moment.value) })
}

// follow takes the moment from the address when it was changed there. It is left
// alone while it moves.
export function followAddress(): void {
  const { at } = asked.value
  if (timer || at === rest.value) return
  moment.value = at
  rest.value = at
}

export function leaveDesk(): void {
  clearTimeout(timer)
  timer = 0
}

// wide says whether picture and list stand beside each other.
const room = matchMedia('(min-width: 1100px)')
export const wide = signal(room.matches)
room.addEventListener('change', () => { wide.value = room.matches })

// reel stands at the moment shown; looks goes up when it has turned, at most five
// times a second: for what is words and not picture.
export const reel = signal<Reel | null>(null)
export const looks = signal(0)

// turns hear which devices look otherwise, by their places in the course, as soon as
// they do.
export const turns = new Set<(devices: readonly number[]) => void>()
let throttle = 0

// startWinding keeps the reel at the moment shown until it is stopped.
export function startWinding(): () => void {
  return effect(() => {
    const changed = reel.value?.wind(shownAt.value) ?? []
    if (!changed.length) return
    for (const hear of turns) hear(changed)
    if (throttle) return
    throttle = window.setTimeout(() => {
      throttle = 0
      looks.value += 1
    }, 200)
  })
}
