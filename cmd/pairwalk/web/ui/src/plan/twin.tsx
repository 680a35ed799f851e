// The list of a floor: everything that the picture says, in words.
import type { ComponentChildren, JSX } from 'preact'
import { useMemo, useState } from 'preact/hooks'
import { STATES, type LayoutDevice, type ReachDevice } from '../api'
import { Mark } from '../parts/mark'
import { Field } from '../parts/form'
import { t, tn, has } from '../words'
import { looks, reel } from './desk'
import { ABSENT, SIGNS, type Reel, type Sign } from './reel'

const PAGE = 60

export interface TwinProps {
  title: string
  devices: LayoutDevice[]
  courseOf: ReadonlyMap<string, number>
  reach: ReadonlyMap<string, ReachDevice> | null // null while it is asked for
  notes: ReadonlyMap<string, string[]> // what else is to be said of a device
  chosen: string
  onChoose: (tag: string) => void
  children?: ComponentChildren
}

export function Twin({ title, devices, courseOf, reach, notes, chosen, onChoose, children }: TwinProps): JSX.Element {
  const [filter, setFilter] = useState('')
  const [most, setMost] = useState(PAGE)
  void looks.value
  const r = reel.value
  const sorted = useMemo(() => [...devices].sort((a, b) => order.compare(a.room, b.room) || order.compare(a.tag, b.tag)), [devices])
  const words = filter.toLowerCase().split(/\s+/).filter(Boolean)
  const found = sorted.filter((d) => words.every((w) => wordsOf(d, courseOf, r, reach, notes).includes(w)))
  const shown = found.slice(0, most)
  return (
    <section class="plan-twin" aria-label={t('plan.list')}>
      <h2>{title}</h2>
      {children}
      <Field label={t('plan.filter')} hint={t('plan.filter.hint')} type="search" value={filter} onInput={(v) => { setFilter(v); setMost(PAGE) }} />
      <p class="quiet" role="status">{tn('plan.found', found.length, { all: devices.length })}</p>
      {rooms(shown).map(([room, list]) => (
        <section key={room}>
          <h3>{room ? <bdi>{room}</bdi> : t('plan.room.none')}</h3>
          <ul class="plan-rows">
            {list.map((d) => (
              <li key={d.tag}>
                <button type="button" class="plan-row" aria-pressed={d.tag === chosen} onClick={() => onChoose(d.tag === chosen ? '' : d.tag)}>
                  <Row d={d} r={r} course={courseOf.get(d.tag) ?? -1} reach={reach?.get(d.tag)} notes={notes.get(d.tag) ?? []} />
                </button>
              </li>
            ))}
          </ul>
        </section>
      ))}
      {found.length > shown.length && <button type="button" class="big" onClick={() => setMost(most + 4 * PAGE)}>{t('plan.more', { n: found.length - shown.length })}</button>}
    </section>
  )
}

const order = new Intl.Collator(undefined, { numeric: true })

function rooms(list: LayoutDevice[]): [string, LayoutDevice[]][] {
  const out: [string, LayoutDevice[]][] = []
  for (const d of list) {
    const tail = out.at(-1)
    if (tail?.[0] === d.room) tail[1].push(d)
    else out.push([d.room, [d]])
  }
  return out
}

function Row({ d, r, course, reach, notes }: { d: LayoutDevice; r: Reel | null; course: number; reach?: ReachDevice; notes: string[] }): JSX.Element {
  const state = stateOf(r, course)
  const said = [...signWords(r, course), ...(d.emergency ? [t('emergency')] : [])]
  return (
    <>
      <b><bdi>{d.tag}</bdi></b>
      {state ? <Mark kind={d.kind} state={state} /> : <span class="quiet">{t('plan.absent')}</span>}
      <span class="plan-row-words">
        <span>{kindWords(d.kind)}</span>
        {said.map((w) => <span key={w} class="warn">{w}</span>)}
        {reach && <span>{pathWords(reach)}</span>}
        {notes.map((w) => <b key={w}>{w}</b>)}
        {!d.place_mm && <span class="quiet">{t('plan.noplace')}</span>}
      </span>
    </>
  )
}

// stateOf is the name of a device's state at the moment, '' where nobody has spoken
// of it yet.
export function stateOf(r: Reel | null, course: number): string {
  if (!r || course < 0 || r.state[course] === ABSENT || r.signs[course]! & SIGNS.gone) return ''
  return STATES[r.state[course]!] ?? ''
}

const WORDED = (Object.keys(SIGNS) as Sign[]).filter((s): s is Exclude<Sign, 'gone'> => s !== 'gone')

export function signWords(r: Reel | null, course: number): string[] {
  if (!r || course < 0) return []
  const signs = r.signs[course]!
  return WORDED.filter((s) => signs & SIGNS[s]).map((s) => t(`flag.${s}`))
}

export const kindWords = (kind: string): string => (has(`plan.kind.${kind}`) ? t(`plan.kind.${kind}` as 'plan.kind.sensor') : kind)

// hopWords says how long the path is, and that it is only possible where it is.
export function hopWords(x: ReachDevice): string {
  if (x.hops <= 0) return ''
  return `, ${x.ok === 'yes' ? '' : `${t('plan.possible')} `}${tn('plan.hops', x.hops)}`
}

// pathWords is a device's way home in a few words.
export function pathWords(x: ReachDevice): string {
  const said = t(`ok.${x.ok}`)
  const hops = hopWords(x)
  return x.basis === 'none' ? said : `${said}${hops} (${t(`basis.${x.basis}`)})`
}

function wordsOf(d: LayoutDevice, courseOf: ReadonlyMap<string, number>, r: Reel | null, reach: TwinProps['reach'], notes: TwinProps['notes']): string {
  const course = courseOf.get(d.tag) ?? -1
  const state = stateOf(r, course)
  const path = reach?.get(d.tag)
  return [
    d.tag, d.room, d.hub, d.circuit, kindWords(d.kind), state && has(`state.${state}`) ? t(`state.${state}` as 'state.listed') : state,
    ...signWords(r, course), d.emergency ? t('emergency') : '', path ? pathWords(path) : '', d.place_mm ? '' : t('plan.noplace'), ...(notes.get(d.tag) ?? []),
  ].join(' ').toLowerCase()
}
