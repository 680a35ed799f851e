// Which mesh channel each hub should be on, and what a move costs.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Channels as Doc } from '../api'
import { Speaker } from '../parts/form'
import { get } from '../request'
import { t, tn } from '../words'
import { useAsked } from './ask'
import { ChannelHub, devices, type HubPlan } from './channelhub'
import { AskedAt, Onlooker, Problem, Some, Thinking, Tick } from './pieces'

export function Channels(): JSX.Element {
  const asked = useAsked<Doc>('site.channels')
  const [move, setMove] = useState(false)
  const [apart, setApart] = useState(false)
  const doc = asked.data
  const work = (): void => { void asked.ask(() => get<Doc>('channels', { move: move ? 1 : '', apart: apart ? 1 : '' })) }
  return (
    <div class="stack">
      <p>{t('site.channels.words')}</p>
      <Onlooker />
      <Tick on={move} onChange={setMove}>{t('site.channels.move')}</Tick>
      <Tick on={apart} onChange={setApart}>{t('site.channels.apart')}</Tick>
      <div class="row"><button type="button" class="act" onClick={work}>{t(doc ? 'site.again' : 'site.channels.ask')}</button></div>
      <Thinking busy={asked.busy} words={t('site.channels.thinking')} />
      <Problem words={asked.problem} />
      {doc && (
        <>
          <AskedAt at={asked.at} stale={asked.stale} />
          <Speaker />
          {doc.hubs.length === 0 ? <p><b>{t('site.channels.none')}</b></p> : <Verdict doc={doc} />}
          <ul class="site-hubplans">{doc.hubs.map((h) => <ChannelHub key={h.id} hub={h as HubPlan} most={mostOf(doc)} />)}</ul>
          {doc.notes.length > 0 && <section><h3>{t('site.notes')}</h3><Some lines={doc.notes} /></section>}
        </>
      )}
    </div>
  )
}

const mostOf = (doc: Doc): number => Math.max(1, ...doc.hubs.flatMap((h) => [h.cost, h.now_cost]))

function Verdict({ doc }: { doc: Doc }): JSX.Element {
  const moves = doc.hubs.filter((h) => h.now && h.now !== h.plan).length
  const unset = doc.hubs.filter((h) => !h.now).length
  return (
    <div class="card stack">
      {unset > 0 && <p><b>{tn('site.channels.unset', unset)}</b></p>}
      {(moves > 0 || unset === 0) && <p><b>{moves ? tn('site.channels.moves', moves) : t('site.channels.stay')}</b></p>}
      <dl class="site-counts">
        <div><dt>{t('site.channels.now')}</dt><dd class="num">{devices(doc.now_cost)}</dd></div>
        <div><dt>{t('site.channels.plan')}</dt><dd class="num">{devices(doc.cost)}</dd></div>
        <div><dt>{t('site.channels.bound')}</dt><dd class="num">{devices(doc.lower_bound)}</dd></div>
      </dl>
      <p>{t(doc.exact ? 'site.channels.exact' : 'site.channels.bounded', { n: devices(doc.lower_bound) })}</p>
      {doc.fewest > 1 && <p>{t('site.channels.fewest', { n: doc.fewest })}</p>}
      <p class="quiet">{t('site.channels.basis')} <bdi>{doc.basis}</bdi></p>
    </div>
  )
}
