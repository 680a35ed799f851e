// How far a member's word counts: a sign of its own for each, beside the word.
import type { JSX } from 'preact'
import { t } from '../words'
import { isStanding } from './holds'

const signs: Record<string, string> = {
  admitted: 'M4 12 L10 18 L20 6', // a tick
  provisional: 'M12 3 A9 9 0 0 1 12 21 Z M12 3 A9 9 0 1 0 12 21', // half a disc
  quarantined: 'M4 4 H20 V20 H4 Z M4 12 L12 4 M4 20 L20 4 M12 20 L20 12', // hatched
  revoked: 'M5 5 L19 19 M19 5 L5 19', // a cross
}
const looks: Record<string, string> = { admitted: 'good', provisional: 'warn', quarantined: 'warn', revoked: 'bad' }

export function StandingMark({ standing }: { standing: string }): JSX.Element {
  return (
    <span class={`team-standing ${looks[standing] ?? ''}`}>
      <svg class={`team-sign team-sign-${standing}`} viewBox="0 0 24 24" aria-hidden="true"><path d={signs[standing] ?? 'M4 12 H20'} /></svg>
      <b>{isStanding(standing) ? t(`team.standing.${standing}`) : standing}</b>
    </span>
  )
}

// Link says whether a call is up.
export function LinkMark({ up }: { up: boolean }): JSX.Element {
  return (
    <span class={`team-standing ${up ? 'good' : 'bad'}`}>
      <svg class="team-sign" viewBox="0 0 24 24" aria-hidden="true"><path d={up ? 'M2 12 H22 M6 7 L2 12 L6 17 M18 7 L22 12 L18 17' : 'M2 12 H9 M15 12 H22 M9 6 L15 18'} /></svg>
      <b>{t(up ? 'team.call.up' : 'team.call.down')}</b>
    </span>
  )
}
