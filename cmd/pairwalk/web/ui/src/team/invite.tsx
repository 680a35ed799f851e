// Letting somebody in. The token is a key until it is used, so it is shown and
// nowhere kept.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Invite } from '../api'
import { Choice, Panel } from '../parts/form'
import { post } from '../request'
import { needSpeaker, problemWords } from '../site/ask'
import { Copy, isLead, Problem, Thinking } from '../site/pieces'
import { day, clock } from '../times'
import { t, tn } from '../words'
import { Sheet } from './acts'
import { roleWords, type Role } from './holds'
import { Qr } from './qr'

const HOURS = ['4', '24', '72', '168', '720'] as const
const hoursWords = (h: string): string => (Number(h) < 48 ? tn('team.hours', Number(h)) : tn('team.days', Number(h) / 24))

export function Inviting(): JSX.Element {
  const roles: Role[] = isLead() ? ['tech', 'viewer', 'lead', 'relay'] : ['lead']
  const [role, setRole] = useState<Role>(roles[0]!)
  const [hours, setHours] = useState<(typeof HOURS)[number]>('24')
  const [sheet, setSheet] = useState('')
  const [busy, setBusy] = useState(false)
  const [problem, setProblem] = useState('')
  const [made, setMade] = useState<Invite | null>(null)
  const make = async (): Promise<void> => {
    if (busy) return
    setBusy(true)
    setProblem('')
    try {
      needSpeaker()
      if (role === 'lead' && !sheet.trim()) throw new Error(t('team.sheet.need'))
      setMade(await post<Invite>('invite', { role, hours: Number(hours), sheet: role === 'lead' ? sheet.trim() : '' }))
      setSheet('')
    } catch (error) {
      setProblem(problemWords(error))
    }
    setBusy(false)
  }
  return (
    <section class="stack" aria-labelledby="team-invite">
      <h2 id="team-invite">{t('team.invite')}</h2>
      <p class="quiet">{t(isLead() ? 'team.invite.words' : 'team.invite.lead')}</p>
      <form class="stack" onSubmit={(e) => { e.preventDefault(); void make() }}>
        <Choice label={t('team.invite.role')} options={roles} value={role} onPick={setRole} words={roleWords} />
        <p>{t(`team.role.${role}.may`)}</p>
        <Choice label={t('team.invite.hours')} options={HOURS} value={hours} onPick={setHours} words={hoursWords} />
        {role === 'lead' && <Sheet words={t('team.invite.sheet')} value={sheet} onInput={setSheet} />}
        <Problem words={problem} />
        <button type="submit" class="big">{t('team.invite.do')}</button>
        <Thinking busy={busy} words={t('site.thinking')} />
      </form>
      {made && <Token invite={made} onClose={() => setMade(null)} />}
    </section>
  )
}

function Token({ invite, onClose }: { invite: Invite; onClose: () => void }): JSX.Element {
  return (
    <Panel title={t('team.token.title', { role: roleWords(invite.role) })} onClose={onClose} wide>
      <div class="team-token">
        <Qr modules={invite.modules} label={t('team.token.qr')} />
        <div class="stack">
          <p class="caution">{t('team.token.key')}</p>
          <p><b>{t('team.token.expires', { at: `${day(invite.expires)} ${clock(invite.expires)}` })}</b></p>
          <p>{t('team.token.how')}</p>
          <p><code class="team-command">pairwalk join TOKEN --as NAME</code></p>
          <Copy text={invite.token} label={t('team.token.text')} lines={4} />
          {invite.meets.length
            ? <p>{t('team.token.meets')} {invite.meets.map((m, i) => <span key={m}>{i ? ', ' : ''}<code class="team-addr">{m}</code></span>)}</p>
            : <p class="warn">{t('team.token.alone')}</p>}
        </div>
      </div>
    </Panel>
  )
}
