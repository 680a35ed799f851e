// What does not go as it should, and what to do about each of it.
import type { ComponentChildren, JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import type { Anomaly, Conflict, Entry, Trouble as TroubleDoc } from '../api'
import type { Faults, FaultStory } from '../api_callback'
import { useLive } from '../live'
import { Cautions } from '../parts/form'
import { Happened } from '../callback/happened'
import { Differing } from '../callback/differs'
import { hello, route } from '../state'
import { t, tn, type Key } from '../words'
import { findEntries } from '../story/find'
import { useNames } from '../names'
import { EntryPanel } from '../story/panel'
import { EntryRow } from '../story/row'
import { kindWords } from '../story/say'
import { ConflictCard, Subjects } from '../story/tconflict'
import { FaultCard, FoundFault } from '../story/tfault'
import { HoldCard, PlaceHold } from '../story/thold'
import { Words } from '../story/words'
import './story.css'
import './trouble.css'

const FIRST = 12 // of a section, before one asks for more
const LISTS = ['conflicts', 'holds', 'anomalies', 'quarantined', 'not_understood'] as const // faults come with their stories

export function Trouble(): JSX.Element {
  switch (route.value.query.get('part')) {
    case 'happened': return <Happened />
    case 'differs': return <Differing />
    default: return <Troubles />
  }
}

function Troubles(): JSX.Element {
  const names = useNames()
  const [most, setMost] = useState(FIRST) // faults of either sort that are asked for
  const key = route.value.query.get('key') ?? ''
  const subject = route.value.query.get('subject') ?? ''
  const one = route.value.query.get('fault') ?? ''
  const { data: d, problem } = useLive<Pick<TroubleDoc, typeof LISTS[number]>>('trouble', { lists: LISTS.join() })
  const { data: told, problem: untold } = useLive<Faults>('faults', { most, fault: one, subject })
  const [open, setOpen] = useState<Entry | null>(null)
  const [form, setForm] = useState<'' | 'fault' | 'hold'>('')
  useEffect(() => setOpen(null), [route.value])
  if ((problem || untold) && (!d || !told)) return <><h1>{t('screen.trouble')}</h1><p class="bad" role="alert">{problem || untold}</p></>
  if (!d || !told) return <><h1>{t('screen.trouble')}</h1><p class="quiet">{t('loading')}</p></>
  const faulty = (f: FaultStory): boolean => (one ? f.event === one : f.subject === subject)
  const openFaults = first(told.faults.filter((f) => f.state !== 'cleared'), faulty) // the worst first, as they come
  const closed = told.faults.filter((f) => f.state === 'cleared')
  const { standing = openFaults.length, cleared = closed.length } = told
  const more = (shown: number): void => setMost(Math.max(most, shown))
  const meant = (c: Conflict): boolean => (key !== '' && c.key.startsWith(key)) || (subject !== '' && c.subjects.includes(subject))
  const conflicts = first(d.conflicts, meant)
  return (
    <div class="trouble">
      <header class="story-top">
        <h1>{t('screen.trouble')}</h1>
        <div class="row">
          <button type="button" class="big" aria-expanded={form === 'fault'} onClick={() => setForm(form === 'fault' ? '' : 'fault')}>{t('trouble.found')}</button>
          <button type="button" class="big" aria-expanded={form === 'hold'} onClick={() => setForm(form === 'hold' ? '' : 'hold')}>{t('trouble.hold.place')}</button>
        </div>
      </header>
      <a class="card cb-door" href="#/trouble?part=happened"><b>{t('happened.door')}</b><span>{t('happened.door.words')}</span></a>
      <Overview counts={[['conflicts', d.conflicts.length], ['faults', standing], ['holds', d.holds.length], ['anomalies', d.anomalies.length], ['quarantined', d.quarantined.length], ['odd', d.not_understood.length]]} />
      {form === 'fault' && <FoundFault names={names} onDone={() => setForm('')} />}
      {form === 'hold' && <PlaceHold names={names} onDone={() => setForm('')} />}
      {key && !conflicts.some(meant) && <p class="story-note" role="status">{t('trouble.gone')}</p>}
      <Section name="conflicts" n={d.conflicts.length}>
        <Some of={conflicts} draw={(c) => <ConflictCard key={c.key} conflict={c} asked={c === conflicts[0] && meant(c)} few={conflicts.length <= 3} onOpen={setOpen} />} />
      </Section>
      <Section name="faults" n={standing}>
        {standing > 0 && <Cautions words={[hello.value?.cautions.mains]} />}
        <Some of={openFaults} all={standing} onMore={more} draw={(f) => <FaultCard key={f.id} fault={f} names={names} asked={one !== '' && faulty(f)} onOpen={setOpen} />} />
        {cleared > 0 && (
          <details class="story-causes" open={closed.some((f) => one !== '' && faulty(f))}>
            <summary>{tn('trouble.faults.closed', cleared)}</summary>
            <div class="trouble-cards"><Some of={closed} all={cleared} onMore={more} draw={(f) => <FaultCard key={f.id} fault={f} names={names} onOpen={setOpen} />} /></div>
          </details>
        )}
      </Section>
      <Section name="holds" n={d.holds.length}>
        {d.holds.length > 0 && <Cautions words={[hello.value?.cautions.hold]} />}
        <Some of={d.holds} draw={(h) => <HoldCard key={`${h.subject} ${h.since}`} hold={h} names={names} />} />
      </Section>
      <Section name="anomalies" n={d.anomalies.length}>
        <Some of={alike(d.anomalies)} draw={(g) => <Odd key={`${g.kind} ${g.why}`} group={g} onOpen={setOpen} />} />
      </Section>
      <Section name="quarantined" n={d.quarantined.length}>
        <Some of={d.quarantined} draw={(e) => <EntryRow key={e.ref} entry={e} dated onOpen={setOpen} />} list />
      </Section>
      <Section name="odd" n={d.not_understood.length}>
        <Some of={d.not_understood} draw={(e) => <EntryRow key={e.ref} entry={e} dated onOpen={setOpen} />} list />
      </Section>
      {open && <EntryPanel key={open.ref} entry={open} onClose={() => setOpen(null)} onOpen={setOpen} />}
    </div>
  )
}

// first puts what is meant before the rest.
const first = <T,>(list: T[], is: (x: T) => boolean): T[] => [...list.filter(is), ...list.filter((x) => !is(x))]

type SectionName = 'conflicts' | 'faults' | 'holds' | 'anomalies' | 'quarantined' | 'odd'

// Overview counts what there is, and leads to it.
function Overview({ counts }: { counts: [SectionName, number][] }): JSX.Element {
  const some = counts.filter(([, n]) => n > 0)
  if (!some.length) return <p><b>{t('trouble.calm')}</b></p>
  const lead = (name: SectionName): void => {
    const head = document.getElementById(`trouble-${name}`)
    head?.scrollIntoView({ block: 'start' })
    head?.focus({ preventScroll: true })
  }
  return (
    <nav aria-label={t('trouble.sections')}>
      <ul class="row">{some.map(([name, n]) => <li key={name}><button type="button" onClick={() => lead(name)}><b class="num">{n}</b> {t(`trouble.${name}`)}</button></li>)}</ul>
    </nav>
  )
}

// Section is a heading with its count and what it means, and what is in it.
function Section({ name, n, children }: { name: SectionName; n: number; children: ComponentChildren }): JSX.Element {
  return (
    <section class="stack trouble-section" aria-labelledby={`trouble-${name}`}>
      <h2 id={`trouble-${name}`} tabIndex={-1}>{t(`trouble.${name}`)} <b class="trouble-n num">{n}</b></h2>
      <p class="quiet">{t(n ? `trouble.${name}.means` : (`trouble.${name}.none` as Key))}</p>
      {children}
    </section>
  )
}

// Some draws the first of a list, and more when asked; of one that is longer than
// what is here, once that has come.
function Some<T>({ of, all = of.length, draw, list, onMore }: { of: T[]; all?: number; draw: (x: T) => JSX.Element; list?: boolean; onMore?: (shown: number) => void }): JSX.Element | null {
  const [most, setMost] = useState(FIRST)
  if (!of.length) return null
  const more = (): void => {
    setMost(most + 4 * FIRST)
    onMore?.(most + 4 * FIRST)
  }
  const drawn = of.slice(0, most).map(draw)
  return (
    <>
      {list ? <ul class="trouble-behind">{drawn}</ul> : <div class="trouble-cards">{drawn}</div>}
      {all > most && <div><button type="button" class="big" onClick={more}>{tn('trouble.more', all - most)}</button></div>}
    </>
  )
}

interface OddGroup { kind: string; why: string; of: Anomaly[] }

// alike puts together what is odd in the same way: a schedule that came late makes
// hundreds of them.
function alike(list: Anomaly[]): OddGroup[] {
  const groups = new Map<string, OddGroup>()
  for (const a of list) {
    const key = `${a.kind} ${a.why}`
    const g = groups.get(key)
    if (g) g.of.push(a)
    else groups.set(key, { kind: a.kind, why: a.why, of: [a] })
  }
  return [...groups.values()]
}

function Odd({ group: g, onOpen }: { group: OddGroup; onOpen: (e: Entry) => void }): JSX.Element {
  const [most, setMost] = useState(1)
  const show = async (a: Anomaly): Promise<void> => {
    const [entry] = await findEntries([a.event], a.subject).catch(() => [])
    if (entry) onOpen(entry)
  }
  return (
    <article class="card stack trouble-card" aria-label={g.why}>
      <h3>{kindWords(g.kind)}: <Words text={g.why} />{g.of.length > 1 && <span class="quiet num"> × {g.of.length}</span>}</h3>
      <ul>
        {g.of.slice(0, most).map((a) => (
          <li key={a.event + a.subject} class="trouble-odd">
            <span><Subjects of={[a.subject]} /></span>
            <button type="button" onClick={() => show(a)}>{t('trouble.entry')}</button>
          </li>
        ))}
      </ul>
      {g.of.length > most && <div><button type="button" onClick={() => setMost(most + FIRST)}>{tn('trouble.more', g.of.length - most)}</button></div>}
    </article>
  )
}
