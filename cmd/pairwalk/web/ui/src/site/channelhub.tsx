// One hub's channel: now, by the plan, why, and "it is on it now".
import type { JSX } from 'preact'
import { useId, useState } from 'preact/hooks'
import type { Channels } from '../api'
import { hubChannel } from '../entries'
import { record } from '../outbox'
import { speakerReady } from '../parts/form'
import { t } from '../words'
import { problemWords } from './ask'
import { Problem } from './pieces'

export type HubPlan = Channels['hubs'][number] & { wifi?: { channel: number; disturbed: number }[] }

// devices writes a count kept in thousandths.
export const devices = (thousandths: number): string => (thousandths / 1000).toFixed(1)

const CHANNELS = Array.from({ length: 16 }, (_, i) => i + 11)

export function ChannelHub({ hub, most }: { hub: HubPlan; most: number }): JSX.Element {
  const moves = hub.now !== hub.plan
  const stands = !hub.now ? 'unset' : moves ? 'moves' : hub.kept ? 'kept' : 'stays'
  return (
    <li class="card stack site-hubplan">
      <div class="site-hubplan-head">
        <h3><bdi>{hub.id}</bdi></h3>
        <p class="site-channel">
          <span><small>{t('site.channel.now')}</small> <b class="num">{hub.now || t('unknown')}</b></span>
          <span aria-hidden="true" class="site-arrow">{moves ? '→' : '='}</span>
          <span><small>{t('site.channel.plan')}</small> <b class="num">{hub.plan}</b></span>
          <span class={moves ? 'warn' : 'quiet'}>{t(`site.channel.${stands}`)}</span>
        </p>
      </div>
      <Bar label={t('site.channels.now')} n={hub.now_cost} most={most} />
      <Bar label={t('site.channels.plan')} n={hub.cost} most={most} />
      <p><bdi>{hub.why}</bdi></p>
      {moves && hub.moves.length > 0 && <div><h4>{t('site.channel.costs')}</h4><ul class="site-lines">{hub.moves.map((m) => <li key={m}><bdi>{m}</bdi></li>)}</ul></div>}
      {hub.wifi?.some((w) => w.disturbed > 0) && <Wifi hub={hub} />}
      <OnIt hub={hub} />
    </li>
  )
}

function Bar({ label, n, most }: { label: string; n: number; most: number }): JSX.Element {
  return (
    <p class="site-bar">
      <span>{label}</span>
      <svg viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true"><rect class="track" x="0" y="0" width="100" height="10" /><rect class="full" x="0" y="0" width={(100 * n) / most} height="10" /></svg>
      <b class="num">{devices(n)}</b>
    </p>
  )
}

// Wifi shows how much of the hub's system each channel would have disturbed by
// Wi-Fi. The same figures stand in the table below it.
function Wifi({ hub }: { hub: HubPlan }): JSX.Element {
  const wifi = hub.wifi!
  const most = Math.max(...wifi.map((w) => w.disturbed))
  return (
    <details class="site-more">
      <summary>{t('site.wifi')}</summary>
      <svg class="site-wifi" viewBox={`0 0 ${wifi.length * 20} 60`} aria-hidden="true">
        {wifi.map((w, i) => (
          <g key={w.channel} class={w.channel === hub.plan ? 'plan' : ''}>
            <rect x={i * 20 + 3} y={42 - (40 * w.disturbed) / most} width="14" height={(40 * w.disturbed) / most + 1} />
            <text x={i * 20 + 10} y="56">{w.channel}</text>
          </g>
        ))}
      </svg>
      <ul class="site-wifi-list num">{wifi.map((w) => <li key={w.channel}>{t('site.wifi.row', { channel: w.channel, n: devices(w.disturbed) })}{w.channel === hub.plan ? ` · ${t('site.channel.plan')}` : ''}</li>)}</ul>
    </details>
  )
}

// OnIt records that the hub has been set to a channel.
function OnIt({ hub }: { hub: HubPlan }): JSX.Element {
  const id = useId()
  const [other, setOther] = useState(String(hub.plan))
  const [on, setOn] = useState(hub.now)
  const [problem, setProblem] = useState('')
  const say = (channel: number): void => {
    if (!speakerReady()) {
      setProblem(t('speaker.need'))
      return
    }
    setProblem('')
    record([hubChannel(hub.id, channel)], t('site.channel.said', { hub: hub.id, channel })).then(() => setOn(channel), (e: unknown) => setProblem(problemWords(e)))
  }
  return (
    <div class="stack">
      {hub.plan !== on && <button type="button" class="big" onClick={() => say(hub.plan)}>{t('site.channel.on', { hub: hub.id, channel: hub.plan })}</button>}
      {hub.plan === on && hub.now !== hub.plan && <p class="good"><b>{t('site.channel.logged', { channel: on })}</b></p>}
      <details class="site-more">
        <summary>{t('site.channel.other')}</summary>
        <div class="stack">
          <div class="field">
            <label for={id}>{t('site.channel.which')}</label>
            <select id={id} value={other} onChange={(e) => setOther(e.currentTarget.value)}>{CHANNELS.map((c) => <option key={c} value={c}>{c}</option>)}</select>
          </div>
          <button type="button" class="big" onClick={() => say(Number(other))}>{t('site.channel.on', { hub: hub.id, channel: other })}</button>
        </div>
      </details>
      <Problem words={problem} />
    </div>
  )
}
