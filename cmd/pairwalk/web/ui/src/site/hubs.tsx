// How each hub stands.
import type { JSX } from 'preact'
import type { Hub, Hubs as Doc } from '../api'
import { useLive } from '../live'
import { Cautions } from '../parts/form'
import { hello } from '../state'
import { short } from '../times'
import { has, t, type Key } from '../words'
import { Problem } from './pieces'

export function Hubs(): JSX.Element {
  const { data, problem } = useLive<Doc>('hubs')
  if (!data) return problem ? <Problem words={problem} /> : <p class="quiet">{t('loading')}</p>
  return (
    <div class="stack">
      <p>{t('site.hubs.words')}</p>
      <Problem words={problem} />
      {data.hubs.length === 0 && <p><b>{t('site.hubs.none')}</b></p>}
      <ul class="site-hubs">
        {data.hubs.map((h) => <Row key={h.id} h={h} settle={data.settle.find((s) => s.hub === h.id)} />)}
      </ul>
    </div>
  )
}

function Row({ h, settle }: { h: Hub; settle?: Doc['settle'][number] }): JSX.Element {
  const channels = Object.entries(h.channel)
  const verdict = settle && `site.verdict.${settle.verdict}`
  const link = encodeURIComponent(`hub:${h.id}`)
  return (
    <li class="card stack site-hub">
      <div class="site-hub-head">
        <h3><bdi>{h.id}</bdi></h3>
        <p class={h.ready ? 'good' : 'warn'}>
          <svg class="site-lamp" viewBox="0 0 24 24" aria-hidden="true"><path d={h.ready ? 'M4 12 L10 18 L20 6' : 'M4 12 H20'} /></svg>
          <b>{t(h.ready ? 'site.hub.ready' : 'site.hub.not')}</b>
        </p>
      </div>
      {h.why && <p><bdi>{h.why}</bdi></p>}
      {settle && verdict && <p class="site-verdict"><b>{has(verdict) ? t(verdict as Key, { at: settle.at ? short(settle.at) : '' }) : settle.verdict}</b></p>}
      {settle && <Reasons settle={settle} />}
      {settle?.verdict === 'ready' && <Cautions words={[hello.value?.cautions.push]} />}
      <dl class="site-facts">
        <div><dt>{t('site.hub.channel')}</dt><dd class="num">{channels.length ? channels.map(([radio, n]) => `${radio} ${n}`).join(', ') : t('unknown')}</dd></div>
        <div><dt>{t('site.hub.program')}</dt><dd><bdi>{h.program || t('none')}</bdi></dd></div>
        <div><dt>{t('site.hub.assigned')}</dt><dd><bdi>{h.assigned?.join(', ') || t('site.nobody')}</bdi></dd></div>
      </dl>
      <Progress h={h} />
      <div class="row">
        <a class="button" href={`#/now?subject=${link}`}>{t('site.to.record')}</a>
        <a class="button" href={`#/story?subject=${link}`}>{t('site.to.history')}</a>
      </div>
    </li>
  )
}

// Reasons are why a push may not go, or what to mind if it does.
function Reasons({ settle }: { settle: Doc['settle'][number] }): JSX.Element | null {
  const asks = settle.ask.map((a) => (a.since ? t('site.ask.since', { member: a.member, at: short(a.since) }) : t('site.ask.never', { member: a.member })))
  const words = [...settle.reasons.map((r) => r.words), ...asks]
  return words.length ? <ul class="site-reasons">{words.slice(0, 6).map((w) => <li key={w}><bdi>{w}</bdi></li>)}{words.length > 6 && <li>{t('site.more', { n: words.length - 6 })}</li>}</ul> : null
}

// Progress is how many of the listed devices are paired, and pushed, as lengths
// and in figures.
function Progress({ h }: { h: Hub }): JSX.Element {
  const part = (n: number): number => (h.listed ? (100 * n) / h.listed : 0)
  return (
    <div class="site-progress">
      <svg viewBox="0 0 100 14" preserveAspectRatio="none" aria-hidden="true">
        <rect class="track" width="100" height="14" />
        <rect class="paired" width={part(h.paired)} height="14" />
        <rect class="pushed" y="7" width={part(h.pushed)} height="7" />
      </svg>
      <p class="num">
        {(['listed', 'paired', 'pushed'] as const).map((k) => <span key={k}><svg viewBox="0 0 12 12" aria-hidden="true"><rect class={k === 'listed' ? 'track' : k} x="1" y="1" width="10" height="10" /></svg> {t(`site.hub.${k}`, { n: h[k] })}</span>)}
      </p>
    </div>
  )
}
