// One person's way, stretch by stretch.
import type { JSX } from 'preact'
import { useMemo, useState } from 'preact/hooks'
import type { Layout, Walk } from '../api'
import { inWords, nameOf } from '../parts/form'
import { clock, short } from '../times'
import { has, t, tn, type Key } from '../words'
import { places, stretches, type Place, type Stretch, type WalkStep } from './stretch'

export const actWords = (act: string): string => (has(`site.act.${act}`) ? t(`site.act.${act}` as Key) : act)

export function Walker({ person, layout, open, onOpen }: { person: Walk['people'][number]; layout: Layout; open: boolean; onOpen: (on: boolean) => void }): JSX.Element {
  const where = useMemo(() => places(layout), [layout])
  const runs = useMemo(() => stretches(person.steps, where), [person, where])
  return (
    <details class="site-more site-walker" open={open} onToggle={(e) => { if (e.currentTarget.open !== open) onOpen(e.currentTarget.open) }}>
      <summary>
        <b><bdi>{person.member}</bdi></b>{' '}
        <span>{tn('site.walk.stops', person.steps.length)} · {t('site.walk.until', { at: short(person.ends) })}{person.metres > 0 ? ` · ${t('site.walk.metres', { n: person.metres })}` : ''}</span>
      </summary>
      {open && (person.steps.length ? <ol class="site-stretches">{runs.map((r, i) => <StretchRow key={i} run={r} where={where} />)}</ol> : <p class="quiet">{t('site.walk.idle')}</p>)}
    </details>
  )
}

function StretchRow({ run, where }: { run: Stretch<WalkStep>; where: (s: string) => Place }): JSX.Element {
  const [open, setOpen] = useState(false)
  const first = run.steps[0]!
  const last = run.steps[run.steps.length - 1]!
  const time = <span class="num site-time">{clock(first.at)}{last.until && clock(last.until) !== clock(first.at) ? `–${clock(last.until)}` : ''}</span>
  if (run.steps.length === 1) return <li class="site-stop">{time}<span class="site-stop-what"><Stop step={first} place={where(first.subject)} full /></span></li>
  const rooms = run.rooms.length ? `${tn('site.rooms', run.rooms.length)} ${run.rooms.slice(0, 4).join(', ')}${run.rooms.length > 4 ? ' …' : ''}` : ''
  return (
    <li>
      <details class="site-stretch" onToggle={(e) => setOpen(e.currentTarget.open)}>
        <summary>
          {time}
          <span class="site-stop-what">
            <b>{actWords(run.act)}</b> {tn('site.devices', run.steps.length)} {run.hub && t('site.on.hub', { hub: run.hub })}
            <Dots parts={[run.floor && t('site.floor', { floor: run.floor }), rooms, `${first.tag} … ${last.tag}`]} />
          </span>
        </summary>
        {open && <ol>
          {run.steps.map((s, i) => <li key={i} class="site-stop"><span class="num site-time">{clock(s.at)}</span><span class="site-stop-what"><Stop step={s} place={where(s.subject)} /></span></li>)}
        </ol>}
      </details>
    </li>
  )
}

// Dots are small words between dots; a tag is not broken over two lines.
function Dots({ parts }: { parts: (string | false | undefined)[] }): JSX.Element {
  return <small>{parts.filter((p): p is string => !!p).map((p, i) => <span key={i}>{i ? ' · ' : ''}<bdi class={p.length < 24 ? 'site-tag' : undefined}>{p}</bdi></span>)}</small>
}

function Stop({ step, place, full }: { step: WalkStep; place: Place; full?: boolean }): JSX.Element {
  return (
    <>
      {full && <b>{actWords(step.act)} </b>}
      <a href={`#/now?subject=${encodeURIComponent(step.subject)}`}><bdi class="site-tag">{nameOf(step.subject)}</bdi></a>
      {full && step.hub && nameOf(step.subject) !== step.hub && <> {t('site.on.hub', { hub: step.hub })}</>}
      {(place.room || step.via) && <Dots parts={[full && place.floor && t('site.floor', { floor: place.floor }), place.room && t('site.room', { room: place.room }), step.via && t('site.via', { via: step.via })]} />}
      {step.why && <small><bdi>{step.why}</bdi></small>}
      {full && step.cautions?.map((c) => <small key={c} class="caution">{inWords(c)}</small>)}
    </>
  )
}
