// How this device meets the others: who is here now, where it can be called, and
// where it calls.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Team } from '../api'
import { Field, useDraft } from '../parts/form'
import { post } from '../request'
import { needSpeaker, useAsked } from '../site/ask'
import { Problem, Thinking } from '../site/pieces'
import { short } from '../times'
import { t, tn } from '../words'
import { LinkMark } from './standing'

export function Meeting({ team, again }: { team: Team; again: () => void }): JSX.Element {
  return (
    <section class="stack" aria-labelledby="team-meeting">
      <h2 id="team-meeting">{t('team.meeting')}</h2>
      <div>
        <h3>{t('team.within')}</h3>
        {team.within.length
          ? <ul class="team-rows">{team.within.map((w) => <li key={w.member + w.addr}><b><bdi>{w.member}</bdi></b> <span class="quiet num">{t('team.at', { addr: w.addr })}</span></li>)}</ul>
          : <p class="quiet">{t('team.within.none')}</p>}
      </div>
      <div>
        <h3>{t('team.addrs')}</h3>
        {team.addrs.length
          ? <ul class="team-rows">{team.addrs.map((a) => <li key={a}><code class="team-addr">{a}</code>{/^(127\.|\[::1\])/.test(a) && <small> {t('team.addr.self')}</small>}</li>)}</ul>
          : <p class="quiet">{t('team.addrs.none')}</p>}
      </div>
      <Caller team={team} again={again} />
      <Refusals team={team} />
    </section>
  )
}

function Caller({ team, again }: { team: Team; again: () => void }): JSX.Element {
  const [addr, setAddr, clear] = useDraft('team.call', '')
  const [problem, setProblem] = useState('')
  const asked = useAsked<unknown>('team.call')
  const call = async (to: string): Promise<void> => {
    setProblem('')
    if (!/^\[?[^\s]+\]?:\d+$/.test(to)) {
      setProblem(t('team.call.form'))
      return
    }
    if (await asked.ask(async () => {
      needSpeaker()
      return post('call', { addr: to })
    })) {
      if (to === addr.trim()) clear()
      again()
    }
  }
  const hangUp = async (from: string): Promise<void> => {
    if (await asked.ask(async () => {
      needSpeaker()
      return post('hangup', { addr: from })
    })) again()
  }
  const others = team.meetings.filter((m) => !team.calls.some((c) => c.addr === m))
  return (
    <div class="stack">
      <form class="stack" onSubmit={(e) => { e.preventDefault(); void call(addr.trim()) }}>
        <h3>{t('team.call')}</h3>
        <Field label={t('team.call.addr')} value={addr} onInput={setAddr} hint={t('team.call.hint')} />
        <Problem words={problem || asked.problem} />
        <button type="submit" class="big">{t('team.call.do')}</button>
        <Thinking busy={asked.busy} words={t('site.thinking')} />
      </form>
      {team.calls.length > 0 && (
        <ul class="team-rows">
          {team.calls.map((c) => (
            <li key={c.addr} class="team-call">
              <div>
                <p><LinkMark up={c.up} /> <code class="team-addr">{c.addr}</code> {c.member && <b><bdi>{c.member}</bdi></b>}</p>
                {c.why && <p class="quiet"><bdi>{c.why}</bdi></p>}
              </div>
              <div class="row">
                {!c.up && <button type="button" onClick={() => call(c.addr)}>{t('team.call.again')}</button>}
                <button type="button" onClick={() => hangUp(c.addr)}>{t('team.hangup')}</button>
              </div>
            </li>
          ))}
        </ul>
      )}
      {others.length > 0 && (
        <div>
          <h3>{t('team.meetings')}</h3>
          <ul class="team-rows">{others.map((m) => <li key={m} class="team-call"><code class="team-addr">{m}</code><button type="button" onClick={() => call(m)}>{t('team.call.do')}</button></li>)}</ul>
        </div>
      )}
    </div>
  )
}

// Refusals are those who tried to come and were not let in.
function Refusals({ team }: { team: Team }): JSX.Element | null {
  if (!team.refusals.length) return null
  const n = team.refusals.reduce((sum, r) => sum + r.count, 0)
  return (
    <details class="site-more">
      <summary>{tn('team.refusals', n)}</summary>
      <p class="quiet">{t('team.refusals.words')}</p>
      <ul class="team-rows">
        {team.refusals.map((r, i) => <li key={i}><b><bdi>{r.from}</bdi></b>: <bdi>{r.why}</bdi> <span class="quiet num">{t('team.refusal.last', { n: r.count, at: short(r.last) })}</span></li>)}
      </ul>
    </details>
  )
}
