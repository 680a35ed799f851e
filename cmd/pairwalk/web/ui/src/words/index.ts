// Every string of the page, in English and in German. A screen's words are in a
// file of their own; the keys of the two languages must be the same.
import { language } from '../state'
import * as shell from './shell'
import * as now from './now'
import * as plan from './plan'
import * as story from './story'
import * as team from './team'
import * as site from './site'
import * as scan from './scan'
import * as callback from './callback'
import * as handing from './handing'
import { alone } from './alone'

const en = { ...shell.en, ...now.en, ...plan.en, ...story.en, ...team.en, ...site.en, ...scan.en, ...callback.en, ...handing.en }
const de: Record<keyof typeof en, string> = { ...shell.de, ...now.de, ...plan.de, ...story.de, ...team.de, ...site.de, ...scan.de, ...callback.de, ...handing.de }

export type Key = keyof typeof en

// t is the words for a key, with {name} filled in.
export function t(key: Key, fill: Record<string, string | number> = {}): string {
  const words = (language.value === 'de' ? de : en)[key] ?? key
  return words.replace(/\{(\w+)\}/g, (whole, name: string) => (name in fill ? alone(String(fill[name])) : whole))
}

// tn is t for a number: key.one or key.many.
export function tn(key: string, n: number, fill: Record<string, string | number> = {}): string {
  return t(`${key}.${n === 1 ? 'one' : 'many'}` as Key, { n, ...fill })
}

// has says whether there are words for a key made up at run time.
export function has(key: string): key is Key {
  return key in en
}
