// The team, one card a member.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Hub, Team } from '../api'
import { isLead, isOnlooker } from '../site/pieces'
import { day, short } from '../times'
import { t, tn } from '../words'
import { ActPanel, type Doing } from './acts'
import { holds, roleWords, type Member } from './holds'
import { StandingMark } from './standing'

export function Members({ team, hubs, focus }: { team: Team; hubs: Hub[]; focus: string }): JSX.Element {
  const [doing, setDoing] = useState<Doing | null>(null)
  return (
    <section class="team-members" aria-labelledby="team-members">
      <h2 id="team-members">{t('team.members')}</h2>
      <ul>
        {team.members.map((m) => <Card key={m.key} m={m} team={team} hubs={hubs} focus={focus === m.key} onDo={setDoing} />)}
      </ul>
      {!isLead() && <p class="quiet">{t('team.acts.lead')}</p>}
      {doing && <ActPanel key={doing.act + doing.member.key} doing={doing} hubs={hubs} onClose={() => setDoing(null)} />}
    </section>
  )
}

function Card({ m, team, hubs, focus, onDo }: { m: Member; team: Team; hubs: Hub[]; focus: boolean; onDo: (d: Doing) => void }): JSX.Element {
  const on = hubs.filter((h) => h.assigned?.includes(m.name))
  const near = team.within.some((w) => w.member === m.name)
  const works = (m.role === 'lead' || m.role === 'tech') && m.standing !== 'revoked'
  const may = !isOnlooker()
  const waits = m.standing === 'provisional' || m.standing === 'quarantined'
  return (
    <li class={`card team-card${focus ? ' team-focus' : ''}`} id={`member-${m.key}`}>
      <div class="team-name">
        <h3><bdi>{m.name}</bdi>{m.you && <small> {t('team.you')}</small>}</h3>
        <span class="team-role">{roleWords(m.role)}</span>
        <StandingMark standing={m.standing} />
      </div>
      {m.why && <p class={m.standing === 'revoked' ? 'bad' : 'warn'}><bdi>{m.why}</bdi></p>}
      {waits && <p>{t('team.waits')}</p>}
      {m.contact && <p><bdi>{m.contact}</bdi></p>}
      <p class="num">{tn('team.entries', m.entries)} · {t('team.joined', { at: `${day(m.joined)} ${short(m.joined).split(' ').pop()}` })}</p>
      <Through m={m} />
      {near && <p class="good"><b>{t('team.near')}</b></p>}
      {!m.you && <Holding m={m} team={team} />}
      {on.length > 0 && <p>{t('team.on')} {on.map((h, i) => <span key={h.id}>{i ? ', ' : ''}<bdi><b>{h.id}</b></bdi></span>)}</p>}
      <div class="row team-acts">
        {isLead() && waits && <button type="button" class="act" onClick={() => onDo({ act: 'admit', member: m })}>{t('team.admit')}</button>}
        {may && works && <button type="button" class="big" onClick={() => onDo({ act: 'assign', member: m })}>{t('team.assign')}</button>}
        <a class="button big" href={`#/story?member=${encodeURIComponent(m.name)}`}>{t(m.you ? 'team.story.you' : 'team.story')}</a>
        {isLead() && !m.you && m.standing !== 'revoked' && <button type="button" class="big" onClick={() => onDo({ act: 'revoke', member: m })}>{t('team.revoke')}</button>}
      </div>
      <details class="team-key">
        <summary>{t('team.key')}</summary>
        <p><code>{m.key}</code></p>
        <small>{t('team.key.why')}</small>
      </details>
    </li>
  )
}

// Through says up to when this device has heard all that a member had to say.
function Through({ m }: { m: Member }): JSX.Element | null {
  if (m.you) return <p>{t('team.through.you')}</p>
  if (m.standing === 'revoked') return null
  const known = !!m.through && Date.parse(m.through) > Date.parse(m.joined) - 864e5 // nothing heard is told as 1970
  return known ? <p>{t('team.through', { at: short(m.through!) })}</p> : <p class="warn">{t('team.through.none')}</p>
}

// Holding is what a member holds of this device's own log.
function Holding({ m, team }: { m: Member; team: Team }): JSX.Element | null {
  const you = team.members.find((x) => x.you)
  if (!you || !you.entries) return null
  const lacks = you.entries - holds(m, you)
  return lacks ? <p>{t('team.holds.yours', { n: holds(m, you), of: you.entries })}{team.unsent > 0 && ` ${tn('team.lacks', lacks)}`}</p> : <p>{t('team.holds.all', { of: you.entries })}</p>
}
