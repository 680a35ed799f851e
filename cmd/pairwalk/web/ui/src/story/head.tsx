// Everything known of one subject, above its history.
import type { JSX } from 'preact'
import type { Device, Entry, Subject } from '../api'
import { useLive } from '../live'
import { Cautions, nameOf } from '../parts/form'
import { FILL, Mark } from '../parts/mark'
import { go, hello } from '../state'
import { short } from '../times'
import { has, t, tn, type Key } from '../words'
import { findEntries } from './find'
import type { Names } from '../names'
import { subjectWords } from './say'
import { Words } from './words'

export function SubjectHead({ subject, names, onOpen }: { subject: string; names: Names; onOpen: (e: Entry) => void }): JSX.Element | null {
  const { data: s } = useLive<Subject>('show', { subject }) // what the process has against it, the log below says
  if (!s) return null
  const device = s.device
  return (
    <section class="card stack story-head" aria-label={t('story.head', { name: subjectWords(s.subject) })}>
      <div class="story-head-title">
        <h2><bdi>{subjectWords(s.subject)}</bdi></h2>
        {device && <Mark kind={device.kind} state={device.state} />}
        {device?.emergency && <b class="story-tag">{t('emergency')}</b>}
      </div>
      {device && <DeviceLine d={device} />}
      {s.hub && <HubLine s={s} />}
      {s.circuit && <p>{t(s.circuit.off ? 'story.circuit.off' : 'story.circuit.on')}. {tn('story.feeds', s.circuit.feeds)}{s.circuit.learned?.length ? ` ${t('story.learned', { tags: s.circuit.learned.join(', ') })}` : ''}</p>}
      {device && <Flags d={device} />}
      <ReachLine s={s} />
      <Troubles s={s} />
      <Causes s={s} onOpen={onOpen} />
      {s.devices && <Members devices={s.devices} />}
      <Cautions words={[device?.emergency ? hello.value?.cautions.emergency : undefined, s.circuit ? hello.value?.cautions.power : undefined, s.holds.length ? hello.value?.cautions.hold : undefined]} />
      <Ways subject={s.subject} device={device} names={names} />
    </section>
  )
}

function DeviceLine({ d }: { d: Device }): JSX.Element {
  const parts = [t('story.on.hub', { hub: d.hub }), d.radio, d.kind, d.room ? `${t('story.class.room')} ${d.room}` : '', d.floor ? `${t('story.class.floor')} ${d.floor}` : '']
  return (
    <>
      <p class="quiet">{parts.filter(Boolean).map((p, i) => <span key={p}>{i ? ' · ' : ''}<bdi>{p}</bdi></span>)}</p>
      <p>{t('serial')}: {d.serial ? <bdi class="num">{d.serial}</bdi> : t('none')}{d.since && <> · {t('story.since', { at: short(d.since) })} <bdi>{d.by}</bdi></>}</p>
    </>
  )
}

function HubLine({ s }: { s: Subject }): JSX.Element {
  const h = s.hub!
  const channels = Object.entries(h.channel).map(([radio, n]) => `${radio} ${n}`).join(', ')
  return (
    <>
      <p>
        {h.ready ? <b class="good">{t('story.hub.ready')}</b> : <b class="warn">{t('story.hub.not')}</b>}
        {h.why && <> <bdi>{h.why}</bdi></>} · {t('story.hub.channel', { channel: channels || t('unknown') })} · {t('story.hub.program', { program: h.program || t('none') })}
      </p>
      <p class="num">{t('story.hub.counts', { listed: h.listed, paired: h.paired, pushed: h.pushed })}{h.assigned?.length ? ` · ${t('story.hub.assigned', { names: h.assigned.join(', ') })}` : ''}</p>
    </>
  )
}

function Flags({ d }: { d: Device }): JSX.Element | null {
  const flags = d.flags.filter((f) => f !== 'emergency')
  if (!flags.length && !d.needs.length) return null
  return (
    <p class="row">
      {flags.map((f) => <b key={f} class="story-tag">{has(`flag.${f}`) ? t(`flag.${f}` as Key) : f}</b>)}
      {d.needs.length > 0 && <span>{t('story.needs')} {d.needs.map((n) => (has(`story.need.${n}`) ? t(`story.need.${n}` as Key) : n)).join(', ')}</span>}
    </p>
  )
}

function ReachLine({ s }: { s: Subject }): JSX.Element | null {
  const r = s.reach
  const strands = (s.strands ?? []).flatMap((p) => p.strands)
  if (!r && !strands.length) return null
  return (
    <div>
      {r && <p><b class={r.ok === 'yes' ? 'good' : r.ok === 'no' ? 'bad' : ''}>{t(`ok.${r.ok}`)}</b> · {t(`basis.${r.basis}`)}{r.hops > 0 ? ` · ${tn('story.hops', r.hops)}` : ''} · <Words text={r.why} /></p>}
      {r && r.path.length > 2 && <p class="quiet">{t('story.path', { path: r.path.join(' → ') })}</p>}
      {strands.length > 0 && <p class="warn">{tn('story.strands', strands.length, { tags: strands.slice(0, 12).join(', ') + (strands.length > 12 ? ' …' : '') })}</p>}
    </div>
  )
}

function Troubles({ s }: { s: Subject }): JSX.Element | null {
  if (!s.conflicts.length && !s.faults.length && !s.holds.length) return null
  return (
    <ul class="stack">
      {s.holds.map((h) => <li key={h.since + h.why}><b class="warn">{t('flag.hold')}</b> <bdi>{h.why}</bdi>{h.who && <> · <bdi>{h.who}</bdi></>} · {short(h.since)} <bdi>{h.by}</bdi></li>)}
      {s.faults.map((f) => <li key={f.id}><b class={f.open ? 'bad' : 'quiet'}>{t(f.open ? 'flag.fault' : 'trouble.fault.closed')}</b> <bdi>{f.symptom}</bdi> · {short(f.since)} <bdi>{f.by}</bdi></li>)}
      {s.conflicts.map((c) => <li key={c.key}><b class="bad">{t('flag.conflict')}</b> <Words text={c.why} /> <a class="story-link" href={`#/trouble?key=${encodeURIComponent(c.key)}`}>{t('story.to.trouble')}</a></li>)}
    </ul>
  )
}

// Causes are the entries behind what is known.
function Causes({ s, onOpen }: { s: Subject; onOpen: (e: Entry) => void }): JSX.Element | null {
  if (!s.causes?.length) return null
  const open = async (ref: string): Promise<void> => {
    const found = await findEntries([ref], s.subject).catch(() => [])
    if (found[0]) onOpen(found[0])
  }
  return (
    <details class="story-causes">
      <summary>{tn('story.causes', s.causes.length)}</summary>
      <ul>
        {s.causes.map((c) => (
          <li key={c.fact}>
            <button type="button" class="story-open" onClick={() => open(c.event)}>
              <span class="story-when num">{short(c.at)}</span>
              <span class="story-said">
                <bdi class="story-who">{c.by}</bdi>{' '}
                <span class="story-what"><b>{has(`story.fact.${c.fact}`) ? t(`story.fact.${c.fact}` as Key) : c.fact}</b> <Words text={c.words} /></span>
              </span>
            </button>
          </li>
        ))}
      </ul>
    </details>
  )
}

function Members({ devices }: { devices: Device[] }): JSX.Element | null {
  if (!devices.length) return null
  const most = 24
  return (
    <details class="story-causes">
      <summary>{tn('story.devices', devices.length)}</summary>
      <p class="story-counts">{Object.entries(FILL).map(([state]) => [state, devices.filter((d) => d.state === state).length] as const).filter(([, n]) => n > 0).map(([state, n]) => <span key={state}><b class="num">{n}</b> {t(`state.${state}` as Key)}</span>)}</p>
      <Cautions words={[devices.some((d) => d.emergency) ? hello.value?.cautions.emergency : undefined]} />
      <ul class="story-devices">
        {devices.slice(0, most).map((d) => <li key={d.tag}><a class="button" href={`#/story?subject=${encodeURIComponent(`device:${d.tag}`)}`}><bdi>{d.tag}</bdi> <Mark kind={d.kind} state={d.state} />{d.emergency && <b>{t('emergency')}</b>}</a></li>)}
        {devices.length > most && <li class="quiet">{tn('story.devices.more', devices.length - most)}</li>}
      </ul>
    </details>
  )
}

function Ways({ subject, device, names }: { subject: string; device?: Device; names: Names }): JSX.Element {
  const [cls, id] = [subject.slice(0, subject.indexOf(':')), nameOf(subject)]
  const floor = cls === 'floor' ? id : device?.floor ?? [...names.devices.values()].find((d) => (cls === 'room' && d.room === id) || (cls === 'hub' && d.hub === id) || (cls === 'circuit' && d.circuit === id))?.floor ?? ''
  if (cls === 'member') return <div><button type="button" class="big" onClick={() => go('team', { member: id })}>{t('story.to.team')}</button></div>
  const plan: Record<string, string> = floor ? { floor } : {}
  if (cls === 'device') plan.device = id
  if (cls === 'circuit') plan.without = id
  return (
    <div class="row">
      <button type="button" class="big" onClick={() => go('now', { subject })}>{t('story.to.record')}</button>
      {cls !== 'site' && <button type="button" class="big" onClick={() => go('trouble', { part: 'happened', subject })}>{t('happened.title')}</button>}
      <button type="button" class="big" onClick={() => go('plan', plan)}>{t(cls === 'circuit' ? 'story.to.without' : 'story.to.plan')}</button>
    </div>
  )
}
