// Everybody's whole job, laid out.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Layout, Team, Walk as Doc } from '../api'
import { useLive } from '../live'
import { Choice, Cautions, Field, useDraft } from '../parts/form'
import { get } from '../request'
import { hello, met } from '../state'
import { short } from '../times'
import { t, tn } from '../words'
import { useAsked } from './ask'
import { AskedAt, Problem, Some, Thinking, Tick } from './pieces'
import { Walker } from './walker'

interface Answer { doc: Doc; layout: Layout }
const COUNTS = ['1', '2', '3', '4'] as const

export function Walk(): JSX.Element {
  const asked = useAsked<Answer>('site.walk')
  const team = useLive<Team>('team', {}, met).data
  const [people, setPeople] = useDraft<(typeof COUNTS)[number]>('walk.people', '2')
  const [names, setNames] = useDraft<string[]>('walk.names', [])
  const [from, setFrom] = useDraft('walk.from', '')
  const walkers = team?.members.filter((m) => (m.role === 'lead' || m.role === 'tech') && m.standing !== 'revoked') ?? []
  const chosen = names.filter((n) => walkers.some((m) => m.name === n))
  const plan = (): void => {
    void asked.ask(async () => {
      const [doc, layout] = await Promise.all([get<Doc>('walk', { people: chosen.length ? chosen.join(',') : people, from: from.trim() }), get<Layout>('layout')])
      return { doc, layout }
    })
  }
  return (
    <div class="stack">
      <p>{t('site.walk.words')}</p>
      <form class="stack" onSubmit={(e) => { e.preventDefault(); plan() }}>
        {chosen.length === 0 && <Choice label={t('site.walk.people')} options={COUNTS} value={people} onPick={setPeople} words={(n) => n} />}
        {walkers.length > 1 && (
          <details class="site-more" open={chosen.length > 0}>
            <summary>{t('site.walk.names')}</summary>
            {walkers.map((m) => <Tick key={m.key} on={names.includes(m.name)} onChange={(on) => setNames(on ? [...names, m.name] : names.filter((n) => n !== m.name))}><bdi>{m.name}</bdi></Tick>)}
          </details>
        )}
        <Field label={t('site.walk.from')} value={from} onInput={setFrom} hint={t('site.walk.from.hint')} />
        <button type="submit" class="act">{t(asked.data ? 'site.again' : 'site.walk.ask')}</button>
      </form>
      <Thinking busy={asked.busy} words={t('site.walk.thinking')} />
      <Problem words={asked.problem} />
      {asked.data && <><AskedAt at={asked.at} stale={asked.stale} /><Plan answer={asked.data} /></>}
    </div>
  )
}

function Plan({ answer }: { answer: Answer }): JSX.Element {
  const { doc, layout } = answer
  const [open, setOpen] = useState(doc.people.length === 1 ? 0 : -1)
  if (!doc.hubs.length && !doc.people.some((p) => p.steps.length)) return <p><b>{t('site.walk.nothing')}</b></p>
  return (
    <div class="stack">
      <div class="card stack">
        <p class="site-finish">{t('site.walk.finish')} <b class="num">{short(doc.finish)}</b></p>
        <p>{t('site.walk.begins')} <span class="num">{short(doc.from)}</span></p>
        <p class="quiet"><bdi>{doc.model}</bdi></p>
      </div>
      <Cautions words={[...new Set(doc.people.flatMap((p) => p.steps.flatMap((s) => s.cautions ?? [])))]} />
      <HubMoments doc={doc} />
      <section class="stack">
        <h3>{tn('site.walk.each', doc.people.length)}</h3>
        {doc.people.map((p, i) => <Walker key={p.member} person={p} layout={layout} open={open === i} onOpen={(on) => setOpen(on ? i : -1)} />)}
      </section>
      {doc.notes.length > 0 && <section><h3>{t('site.notes')}</h3><Some lines={doc.notes} most={8} /></section>}
      <p class="caution">{hello.value?.permit}</p>
    </div>
  )
}

const MOMENTS = ['ready', 'paired', 'settled', 'pushed', 'proved'] as const

// HubMoments is when each hub comes how far.
function HubMoments({ doc }: { doc: Doc }): JSX.Element {
  return (
    <section aria-labelledby="walk-hubs">
      <h3 id="walk-hubs">{t('site.walk.hubs')}</h3>
      <div class="site-momenttable" tabIndex={0} role="group" aria-labelledby="walk-hubs">
        <table>
          <thead><tr><th scope="col">{t('site.hub')}</th>{MOMENTS.map((m) => <th key={m} scope="col">{t(`site.moment.${m}`)}</th>)}</tr></thead>
          <tbody>{doc.hubs.map((h) => <tr key={h.id}><th scope="row"><bdi>{h.id}</bdi></th>{MOMENTS.map((m) => <td key={m} class="num">{h[m] ? short(h[m]) : t('site.moment.past')}</td>)}</tr>)}</tbody>
        </table>
      </div>
      <ul class="site-moments">
        {doc.hubs.map((h) => (
          <li key={h.id} class="card">
            <h4><bdi>{h.id}</bdi></h4>
            <dl>{MOMENTS.map((m) => <div key={m}><dt>{t(`site.moment.${m}`)}</dt><dd class="num">{h[m] ? short(h[m]) : t('site.moment.past')}</dd></div>)}</dl>
          </li>
        ))}
      </ul>
    </section>
  )
}
