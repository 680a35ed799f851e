// Who holds how much of whose log: a table where there is room, a list on a phone.
import type { JSX } from 'preact'
import type { Team } from '../api'
import { t, tn } from '../words'
import { holds, missingWords, type Member } from './holds'

export function Holdings({ team }: { team: Team }): JSX.Element | null {
  const who = team.members
  if (who.length < 2) return null
  return (
    <section class="team-holdings" aria-labelledby="team-holdings">
      <h2 id="team-holdings">{t('team.holdings')}</h2>
      <p class="quiet">{t('team.holdings.words')}</p>
      <div class="team-table" tabIndex={0} role="group" aria-labelledby="team-holdings">
        <table>
          <thead>
            <tr><th scope="col">{t('team.holder')}</th>{who.map((a) => <th key={a.key} scope="col">{t('team.of')} <bdi>{a.name}</bdi></th>)}</tr>
          </thead>
          <tbody>
            {who.map((h) => (
              <tr key={h.key}>
                <th scope="row"><bdi>{h.name}</bdi>{h.you && ` ${t('team.you')}`}</th>
                {who.map((a) => <td key={a.key}><Share holder={h} author={a} /></td>)}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <ul class="team-list">
        {who.map((h) => (
          <li key={h.key}>
            <details class="site-more" open={who.length < 4}>
              <summary><bdi>{h.name}</bdi>{h.you && ` ${t('team.you')}`} · <Sum holder={h} who={who} /></summary>
              <ul>
                {who.filter((a) => a.key !== h.key).map((a) => <li key={a.key}><span>{t('team.of')} <bdi>{a.name}</bdi></span> <Share holder={h} author={a} /></li>)}
              </ul>
            </details>
          </li>
        ))}
      </ul>
    </section>
  )
}

// Sum is what a holder lacks of all the others' logs.
function Sum({ holder, who }: { holder: Member; who: Member[] }): JSX.Element {
  const lacks = who.reduce((sum, a) => sum + a.entries - holds(holder, a), 0)
  return <span class={lacks ? 'num warn' : 'num'}>{lacks ? tn('team.missing', lacks) : t('all')}</span>
}

function Share({ holder, author }: { holder: Member; author: Member }): JSX.Element {
  if (holder.key === author.key) return <span class="quiet num">{t('team.own', { n: author.entries })}</span>
  const has = holds(holder, author)
  const part = author.entries ? has / author.entries : 1
  return (
    <span class={`team-share num${part < 1 ? ' warn' : ''}`}>
      <svg viewBox="0 0 40 10" aria-hidden="true"><rect class="track" x="1" y="1" width="38" height="8" /><rect class="full" x="1" y="1" width={38 * part} height="8" /></svg>
      <span>{t('team.share', { n: has, of: author.entries })} · <b>{missingWords(holder, author)}</b></span>
    </span>
  )
}
