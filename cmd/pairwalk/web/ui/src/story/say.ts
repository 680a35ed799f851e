// An entry in words. The process says every entry in English; in German the page
// says what people log by hand itself, and leaves the rest as it came.
import type { Entry } from '../api'
import { language } from '../state'
import { clock } from '../times'
import { has, t, type Key } from '../words'
import { nameOf } from '../parts/form'
import { memberName } from '../names'

type Body = Record<string, unknown>

const text = (b: Body, key: string): string => (b[key] === undefined || b[key] === null ? '' : String(b[key]))
const listOf = (b: Body, key: string): string => ((b[key] as string[] | undefined) ?? []).join(', ')

// subjectWords names a subject as people do: 2-114, circuit C3-7.
export function subjectWords(subject: string): string {
  const cls = subject.slice(0, subject.indexOf(':'))
  const key = `story.class.${cls}`
  if (cls === 'member') return memberName(nameOf(subject))
  if (cls === 'device' || cls === 'hub' || !has(key)) return nameOf(subject)
  return cls === 'site' ? t(key) : `${t(key)} ${nameOf(subject)}`
}

// reason says one of the trade's words for why in the page's language.
export function reason(family: string, word: string): string {
  const key = `${family}.${word}`
  return has(key) ? t(key) : word
}

// say tells what an entry says, or "" for kinds it has no words for.
export function say(kind: string, b: Body): string {
  const key = `story.say.${kind}`
  if (!has(key)) return ''
  const fill: Record<string, string> = {}
  for (const [name, value] of Object.entries(b)) {
    if (typeof value === 'string' || typeof value === 'number') fill[name] = String(value)
  }
  const who = text(b, 'member') || text(b, 'other') || (kind.startsWith('member.') ? text(b, 'key') : '')
  if (who) fill.member = memberName(who)
  if (b.of !== undefined) fill.of = subjectWords(text(b, 'of'))
  if (kind === 'device.refused') fill.why = reason('refused', text(b, 'why'))
  if (kind === 'device.skipped') fill.why = reason('skipped', text(b, 'why'))
  if (kind === 'fault.found') fill.severity = reason('severity', text(b, 'severity'))
  if (b.test !== undefined) fill.test = reason('test', text(b, 'test'))
  if (kind === 'check.done') {
    fill.verdict = t(b.pass === true ? 'story.passed' : 'story.failed')
  }
  if (kind === 'event.voided') fill.why = reason('story.void', text(b, 'why'))
  const rest: string[] = []
  const add = (words: Key, name: string, value = text(b, name)): void => { if (value) rest.push(t(words, { x: value })) }
  if (kind === 'device.paired') add('story.with.serial', 'serial')
  if (kind === 'device.paired' && b.how) rest.push(t(`how.${text(b, 'how')}` as Key))
  const dbm = text(b, 'rssi_dbm').replace('-', '−')
  if (kind === 'device.heard') add('story.with.rssi', 'rssi_dbm', dbm)
  if (kind === 'power.off') add('story.with.dark', 'dark', listOf(b, 'dark'))
  if (kind === 'hub.loaded') add('story.with.lists', 'lists', b.all ? t('all') : String(((b.lists as string[]) ?? []).length))
  if (kind === 'push.done') add('story.with.missed', 'missed', listOf(b, 'missed'))
  if (kind === 'check.done') add('story.with.reading', 'reading')
  if (kind === 'link.measured') {
    add('story.with.rssi', 'rssi_dbm', dbm)
    add('story.with.pdr', 'pdr_ppm', b.pdr_ppm === undefined ? '' : percent(Number(b.pdr_ppm)))
    add('story.with.lqi', 'lqi')
  }
  if (kind === 'hold.placed') add('story.with.who', 'who')
  if (kind === 'fault.assigned') fill.to = [text(b, 'owner'), text(b, 'trade')].filter(Boolean).join(', ') || text(b, 'action')
  if (kind === 'member.asked') {
    const last = b.last as [number, number] | undefined
    fill.answer = last ? t('story.asked.last', { at: clock((last[0] + last[1]) / 2) }) : t('story.asked.none')
  }
  if (kind.endsWith('.struck') && b.why) rest.push(`– ${text(b, 'why')}`)
  for (const name of ['note', 'caption', 'action']) if (text(b, name) && fill.to !== text(b, name)) rest.push(`– ${text(b, name)}`)
  return [t(key, fill), ...rest].join(' ').replace(/ ([;,])/g, '$1')
}

export const percent = (ppm: number): string => `${(ppm / 10000).toLocaleString(language.value === 'de' ? 'de' : 'en', { maximumFractionDigits: 1 })} %`

// entryWords is what stands in a row of the story.
export function entryWords(e: Entry, of?: Entry): string {
  if (of && e.kind === 'event.voided' && e.body) {
    const note = text(e.body, 'note')
    return t('story.say.withdrew', { what: entryWords(of), why: reason('story.void', text(e.body, 'why')) }) + (note && ` – ${note}`)
  }
  if (e.kind === 'hub.assigned' && e.body?.ended) return e.words
  const own = e.kind === 'event.voided' || e.kind === 'conflict.resolved' // the process says them by number and key
  if (!e.body || (language.value === 'en' && !own)) return e.words
  return say(e.kind, e.body) || e.words
}

// kindWords names a kind.
export function kindWords(kind: string): string {
  const key = `story.kind.${kind}`
  return has(key) ? t(key) : kind
}

// fieldsOf lists what an entry's body holds, each in words.
export function fieldsOf(kind: string, b: Body): { name: string; words: string; subject?: string; ref?: string }[] {
  const out: { name: string; words: string; subject?: string; ref?: string }[] = []
  for (const [key, value] of Object.entries(b)) {
    if (['grant', 'voucher', 'proof', 'heads', 'seen'].includes(key)) continue // signatures, not words
    const named = `story.field.${key}`
    out.push({ name: has(named) ? t(named) : key.replaceAll('_', ' '), ...valueOf(kind, key, value) })
  }
  return out
}

const CLASS_OF: Record<string, string> = { device: 'device', hub: 'hub', room: 'room', floor: 'floor', circuit: 'circuit' }

// Values that are one of a few words of the trade.
const WORDS_OF: Record<string, string> = { severity: 'severity', test: 'test', how: 'how' }
const WHY_OF: Record<string, string> = { 'device.refused': 'refused', 'device.skipped': 'skipped', 'event.voided': 'story.void' }

const REF = /^[a-z2-7]{52}\.[a-z2-7]{13}\/\d+\/[0-9a-f]{16}$/

function valueOf(kind: string, key: string, value: unknown): { words: string; subject?: string; ref?: string } {
  if (typeof value === 'boolean') return { words: t(value ? 'story.yes' : 'story.no') }
  if (typeof value === 'number') {
    if (key === 'pdr_ppm') return { words: percent(value) }
    if (key === 'began') return { words: clock(value) }
    if (key.endsWith('_dbm')) return { words: `${value} dBm`.replace('-', '−') }
    if (key.endsWith('_mm')) return { words: `${(value / 1000).toFixed(1)} m` }
    return { words: String(value) }
  }
  if (typeof value === 'string') {
    const family = WORDS_OF[key] ?? (key === 'why' ? WHY_OF[kind] : undefined)
    if (family) return { words: reason(family, value) }
    if (key === 'of') return { words: subjectWords(value), subject: value }
    if (REF.test(value)) return { words: value, ref: value }
    if (key === 'member' || key === 'other') return { words: memberName(value) }
    if (CLASS_OF[key]) return { words: value, subject: `${CLASS_OF[key]}:${value}` }
    return { words: value }
  }
  if (key === 'place' && Array.isArray(value)) return { words: value.map((n) => (Number(n) / 1000).toFixed(1)).join(', ') + ' m' }
  if (Array.isArray(value) && value.every((x) => typeof x !== 'object')) return { words: value.join(', ') }
  return { words: JSON.stringify(value) }
}
