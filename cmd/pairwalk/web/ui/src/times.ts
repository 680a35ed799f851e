// Times as people read them, in the site's zone.
import { computed } from '@preact/signals'
import { hello, language, now } from './state'
import { t } from './words'

// zoned is a way to write times, made once for a language and zone: making one costs
// a hundred times what using it does.
function zoned(options: Intl.DateTimeFormatOptions): () => Intl.DateTimeFormat {
  const made = computed(() => new Intl.DateTimeFormat(language.value === 'de' ? 'de' : 'en-GB', { timeZone: hello.value?.site.zone || 'UTC', hourCycle: 'h23', ...options }))
  return () => made.value
}

type Time = string | number

const ms = (at: Time): number => (typeof at === 'number' ? at : Date.parse(at))

const minutes = zoned({ hour: '2-digit', minute: '2-digit' })
const seconds = zoned({ hour: '2-digit', minute: '2-digit', second: '2-digit' })
const years = zoned({ year: 'numeric' })
const days = zoned({ weekday: 'short', day: 'numeric', month: 'short' })
const daysOfYears = zoned({ weekday: 'short', day: 'numeric', month: 'short', year: 'numeric' })

export const clock = (at: Time): string => minutes().format(ms(at))
export const clockSeconds = (at: Time): string => seconds().format(ms(at))
const year = (at: Time): string => years().format(ms(at))

// What is shown of a time changes with the day at most, not with each second.
const thisYear = computed(() => year(now.value))
const today = computed(() => day(now.value))

// day has the year where it is not this one.
export const day = (at: Time): string => (year(at) === thisYear.value ? days() : daysOfYears()).format(ms(at))

// short is the time of day, with the day where it is not today's.
export function short(at: Time): string {
  if (at === '') return ''
  return day(at) === today.value ? clock(at) : `${day(at)} ${clock(at)}`
}

export function ago(at: Time): string {
  const min = Math.floor((now.value - ms(at)) / 60000)
  if (min < 1) return t('ago.now')
  if (min < 60) return t('ago.min', { n: min })
  if (min < 48 * 60) return t('ago.h', { n: Math.floor(min / 60) })
  return t('ago.d', { n: Math.floor(min / 1440) })
}

// left is what is left until a time, as 9:05, never below zero.
export function left(until: Time): string {
  const s = Math.max(0, Math.ceil((ms(until) - now.value) / 1000))
  const h = Math.floor(s / 3600)
  const mm = String(Math.floor(s / 60) % 60)
  const ss = String(s % 60).padStart(2, '0')
  return h ? `${h}:${mm.padStart(2, '0')}:${ss}` : `${mm}:${ss}`
}

// span is how long something lasts.
export function span(ms: number): string {
  const s = Math.round(ms / 1000)
  if (s < 60) return `${s} s`
  const min = Math.floor(s / 60)
  return min < 60 ? `${min} min` : `${Math.floor(min / 60)} h ${min % 60} min`
}

// apart says whose clock differs from this device's, and which way.
export const apart = (c: { member: string; by_ms: number }): string =>
  t(c.by_ms < 0 ? 'strip.clock.behind' : 'strip.clock.ahead', { member: c.member, span: span(Math.abs(c.by_ms)) })
