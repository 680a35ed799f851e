// The chosen device: what is known of it, its way home, and who hangs on it.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { LayoutDevice, Reach, ReachDevice, Subject } from '../api'
import { Cautions } from '../parts/form'
import { Mark } from '../parts/mark'
import { go, hello } from '../state'
import { short } from '../times'
import { t, tn, has } from '../words'
import { asked, choose, iso, looks, reel, rest, turnTo } from './desk'
import { useFresh } from './fresh'
import { kindWords, pathWords, signWords, stateOf } from './twin'
import type { Place } from './floor'
import { Way } from './way'

export interface CardProps {
  tag: string
  device: LayoutDevice | undefined
  course: number
  reach: ReachDevice | undefined
  reachFresh: boolean
  points: Reach['single_points']
  places: ReadonlyMap<string, Place>
  onPlace: () => void
}

// Where there is little room the card opens small, so that the picture still shows.
export function Card({ tag, device, course, reach, reachFresh, points, places, onPlace }: CardProps): JSX.Element {
  const { knownBy, without } = asked.value
  const [open, setOpen] = useState(false)
  const at = rest.value
  const subject = `device:${tag}`
  const show = useFresh<Subject>('show', { subject, at: at === null ? undefined : iso(at), known_by: knownBy })
  const doc = show.fresh && show.data?.subject === subject ? show.data : null
  void looks.value
  const state = stateOf(reel.value, course)
  const said = doc?.device
  const cautions = device?.emergency || said?.emergency ? [hello.value?.cautions.emergency] : []
  const flags = said ? said.flags.map((f) => (has(`flag.${f}`) ? t(`flag.${f}` as 'flag.dark') : f)) : signWords(reel.value, course)
  const mine = points.filter((p) => p.id === tag && p.kind === 'device')
  const hangs = points.filter((p) => p.strands.includes(tag))
  const where = [kindWords(device?.kind ?? said?.kind ?? ''), device?.room || (device?.floor && t('plan.floor.n', { floor: device.floor })), said?.hub || device?.hub].filter(Boolean)
  return (
    <section class={open ? 'plan-card open' : 'plan-card'} aria-label={t('plan.card', { tag })}>
      <header>
        <h2><bdi>{tag}</bdi></h2>
        {state ? <Mark kind={device?.kind ?? ''} state={state} /> : <span class="quiet">{t('plan.absent')}</span>}
        <button type="button" class="plain" onClick={() => choose('')}>{t('close')}</button>
      </header>
      <p><bdi>{where.join(' · ')}</bdi>{flags.length > 0 && <b class="warn"> {flags.join(', ')}</b>}</p>
      {reach && reachFresh && <p class="plan-brief">{pathWords(reach)}</p>}
      <Cautions words={cautions} />
      {show.problem && <p class="bad">{show.problem}</p>}
      <div class="row">
        <button type="button" class="act" onClick={() => go('now', { subject })}>{t('plan.record')}</button>
        <button type="button" onClick={() => go('trouble', { part: 'happened', subject, ...(at === null ? {} : { at: iso(at) }), ...(knownBy ? { known_by: knownBy } : {}) })}>{t('happened.title')}</button>
        <button type="button" class="plan-open" aria-expanded={open} onClick={() => setOpen(!open)}>{t(open ? 'plan.fewer' : 'more')}</button>
      </div>
      <div class="plan-card-more">
        <Way reach={reach} fresh={reachFresh} legs={doc?.legs} floor={device?.floor ?? ''} places={places} />
        {mine.map((p) => <Tags key={p.hub} title={tn('plan.hang', p.strands.length)} tags={p.strands} />)}
        {hangs.length > 0 && <p>{t('plan.hangson')} {hangs.map((p, i) => <span key={p.id}>{i > 0 && ', '}<bdi>{p.kind === 'circuit' ? t('plan.circuit.n', { id: p.id }) : p.id}</bdi></span>)}</p>}
        <dl class="plan-facts">
          <Fact name={t('serial')}><bdi class="num">{said ? said.serial || t('none') : '…'}</bdi></Fact>
          {said?.since && <Fact name={t('plan.since')}>{short(said.since)}, <bdi>{said.by}</bdi></Fact>}
          {device?.circuit && <Fact name={t('plan.circuit')}><bdi>{device.circuit}</bdi></Fact>}
          {device?.place_mm && <Fact name={t('plan.at')}><span class="num">{metres(device.place_mm)}</span></Fact>}
          {doc && doc.faults.map((f) => <Fact key={f.id} name={t('flag.fault')}><bdi>{f.symptom}</bdi> ({f.severity})</Fact>)}
        </dl>
        <div class="row">
          <button type="button" onClick={() => go('story', { subject })}>{t('plan.story')}</button>
          <button type="button" onClick={onPlace}>{t(device?.place_mm ? 'plan.place.again' : 'plan.place')}</button>
          {!without.includes(tag) && <button type="button" onClick={() => turnTo({ without: [...without, tag].join(',') })}>{t('plan.suppose.this')}</button>}
        </div>
      </div>
    </section>
  )
}

const metres = (mm: [number, number, number]): string => mm.map((x) => (x / 1000).toFixed(1)).join(' · ') + ' m'

function Fact({ name, children }: { name: string; children: preact.ComponentChildren }): JSX.Element {
  return <div><dt>{name}</dt><dd>{children}</dd></div>
}

// Tags is a list of devices, each to be tapped.
export function Tags({ title, tags, open }: { title: string; tags: readonly string[]; open?: boolean }): JSX.Element {
  const [most, setMost] = useState(40)
  return (
    <details class="plan-tags" open={open ?? tags.length <= 12}>
      <summary>{title}</summary>
      <ul class="row">
        {tags.slice(0, most).map((x) => <li key={x}><button type="button" onClick={() => choose(x)}><bdi>{x}</bdi></button></li>)}
      </ul>
      {tags.length > most && <button type="button" onClick={() => setMost(most + 160)}>{t('plan.more', { n: tags.length - most })}</button>}
    </details>
  )
}
