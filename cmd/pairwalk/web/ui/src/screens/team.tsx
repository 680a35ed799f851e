// Who is on the site, how far their word counts, what each holds of whose log, and
// how this device meets them.
import { computed } from '@preact/signals'
import type { JSX } from 'preact'
import { useEffect } from 'preact/hooks'
import type { Hubs, Team as TeamDoc } from '../api'
import { useLive } from '../live'
import { nameOf, Speaker } from '../parts/form'
import { Onlooker, Problem } from '../site/pieces'
import { met, route, strip, version } from '../state'
import { ago } from '../times'
import { t, tn } from '../words'
import { Bundle } from '../team/bundle'
import { Holdings } from '../team/holdings'
import { Inviting } from '../team/invite'
import { Meeting } from '../team/meeting'
import { Members } from '../team/members'
import './site.css'
import './team.css'

// told moves with each entry, and with what moves without the log: who is within reach.
const told = computed(() => `${version.value} ${met.value}`)

export function Team(): JSX.Element {
  const team = useLive<TeamDoc>('team', {}, told)
  const hubs = useLive<Pick<Hubs, 'hubs'>>('hubs', { lists: 'hubs' }).data?.hubs ?? []
  const s = strip.value
  const focus = nameOf(route.value.query.get('member') ?? route.value.query.get('subject') ?? '')
  const there = !!team.data
  useEffect(() => { if (focus) document.getElementById(`member-${focus}`)?.scrollIntoView({ block: 'center' }) }, [focus, there])
  const doc = team.data
  return (
    <div class="team">
      <header class="team-top">
        <h1>{t('screen.team')}</h1>
        {doc && (
          <p class={doc.unsent ? 'team-unsent' : 'team-unsent team-safe'}>
            <b>{doc.unsent ? tn('team.unsent', doc.unsent) : t('team.safe')}</b>
            {s?.last && <span> {t('team.last', { member: s.last.member, ago: ago(s.last.at) })}</span>}
          </p>
        )}
        <Onlooker />
        <Problem words={team.problem} />
      </header>
      {!doc && !team.problem && <p class="quiet">{t('loading')}</p>}
      {doc && (
        <div class="team-columns">
          <Members team={doc} hubs={hubs} focus={focus} />
          <Holdings team={doc} />
          <div class="stack team-right">
            <Speaker />
            <Meeting team={doc} again={team.again} />
            <Inviting />
            <Bundle />
          </div>
        </div>
      )}
    </div>
  )
}
