// What every screen shares, as signals.
import { computed, effect, signal } from '@preact/signals'
import type { Hello, Strip } from './api'
import { setSpeaking } from './request'

export const hello = signal<Hello | null>(null)
export const strip = signal<Strip | null>(null)

// reached says whether the process answers. While it does not, what is shown is
// what it said last.
export const reached = signal(true)

// stranger says that this page has no token, or one that is not this process's.
export const stranger = signal(false)

// version goes up whenever the log has grown; whatever shows it asks again.
export const version = signal(0)

// calls goes up whenever a stream begins: the process may be another, and what failed
// meanwhile is asked for again.
export const calls = signal(0)

// laid and met move with what few entries bear on, or none: the layout, and who is on
// the site and how they are met.
export const laid = computed(() => `${calls.value} ${strip.value?.layout}`)
export const met = computed(() => `${calls.value} ${strip.value?.team}`)

// Screens, in the order they stand in the bar.
export const SCREENS = ['now', 'plan', 'story', 'trouble', 'team', 'site'] as const
export type Screen = (typeof SCREENS)[number]

export interface Route { screen: Screen; query: URLSearchParams }

function readRoute(): Route {
  const [path = '', text = ''] = location.hash.replace(/^#\/?/, '').split('?')
  const screen = (SCREENS as readonly string[]).includes(path) ? (path as Screen) : 'now'
  return { screen, query: new URLSearchParams(text) }
}

export const route = signal(readRoute())
addEventListener('hashchange', () => { route.value = readRoute() })

// go opens a screen. What the query says is in the address, so that Back works
// and a reload comes back to it.
export function go(screen: Screen, query: Record<string, string> = {}, replace = false): void {
  const text = new URLSearchParams(query).toString()
  const hash = `#/${screen}${text && `?${text}`}`
  if (replace) {
    history.replaceState(null, '', hash)
    route.value = readRoute()
  } else {
    location.hash = hash
  }
}

function kept<T extends string>(key: string, first: T): { value: T } {
  const s = signal((localStorage.getItem(key) as T | null) ?? first)
  effect(() => localStorage.setItem(key, s.value))
  return s
}

export const theme = kept<'dark' | 'light'>('pairwalk.theme', 'dark')
export const language = kept<'en' | 'de'>('pairwalk.language', (navigator.language || '').startsWith('de') ? 'de' : 'en')

effect(() => { document.documentElement.dataset.theme = theme.value })
effect(() => { document.documentElement.lang = language.value })

// speaker is who did what is logged, where the page is shared over a network;
// asked at every entry, and only kept as what the field shows first.
export const speaker = kept<string>('pairwalk.speaker', '')

setSpeaking(() => (hello.value?.beyond ? speaker.value : ''))

// now ticks each second by this device's clock as the process has it: a made-up
// clock of a practice site is shown too. It is worked out anew from the clock at
// every tick, so that sleep and reload do it no harm.
const ahead = signal(0)
export const now = signal(Date.now())
export function setClock(rfc: string): void {
  ahead.value = Date.parse(rfc) - Date.now()
  now.value = Date.now() + ahead.value
}
export const tick = (): void => { now.value = Date.now() + ahead.value }
setInterval(tick, 1000)
addEventListener('visibilitychange', tick)
addEventListener('pageshow', tick)

export const practice = computed(() => hello.value?.site.practice ?? false)
