// The chosen hub, and the hubs of a floor for the list.
import type { JSX } from 'preact'
import type { Layout, Subject } from '../api'
import { Mark } from '../parts/mark'
import { go } from '../state'
import { t, tn } from '../words'
import { asked, chooseHub, iso, rest } from './desk'
import { useFresh } from './fresh'

export function HubCard({ id }: { id: string }): JSX.Element {
  const at = rest.value
  const subject = `hub:${id}`
  const show = useFresh<Subject>('show', { subject, at: at === null ? undefined : iso(at), known_by: asked.value.knownBy })
  const hub = show.fresh && show.data?.subject === subject ? show.data.hub : undefined
  return (
    <section class="plan-card open" aria-label={`Hub ${id}`}>
      <header>
        <h2><bdi>{id}</bdi></h2>
        <Mark kind="hub" state="listed" label={false} />
        <button type="button" class="plain" onClick={() => chooseHub('')}>{t('close')}</button>
      </header>
      {show.problem && <p class="bad">{show.problem}</p>}
      {!hub && !show.problem && <p class="quiet">{t('loading')}</p>}
      {hub && (
        <>
          <p><b>{t(hub.ready ? 'plan.hub.ready' : 'plan.hub.notready')}</b>{hub.why && <> <bdi>{hub.why}</bdi></>}</p>
          <p class="num">{[tn('plan.hub.listed', hub.listed), t('plan.hub.done', { paired: hub.paired, pushed: hub.pushed }), ...Object.entries(hub.channel ?? {}).map(([radio, n]) => t('plan.hub.channel', { radio, n }))].join(' · ')}{hub.program && <> · {t('plan.hub.program')} <bdi>{hub.program}</bdi></>}</p>
        </>
      )}
      <div class="row">
        <button type="button" class="act" onClick={() => go('now', { subject })}>{t('plan.record')}</button>
        <button type="button" onClick={() => go('story', { subject })}>{t('plan.story')}</button>
      </div>
    </section>
  )
}

// Hubs are the hubs of a floor, placed or not.
export function Hubs({ layout, floor, chosen }: { layout: Layout; floor: string; chosen: string }): JSX.Element | null {
  const here = layout.hubs.filter((h) => h.floor === floor)
  if (!here.length) return null
  return (
    <ul class="row" aria-label={t('plan.hubs')}>
      {here.map((h) => (
        <li key={h.id}>
          <button type="button" aria-pressed={h.id === chosen} onClick={() => chooseHub(h.id === chosen ? '' : h.id)}>
            <Mark kind="hub" state="listed" label={false} /><bdi>{h.id}</bdi>{!h.place_mm && <small>{t('plan.noplace')}</small>}
          </button>
        </li>
      ))}
    </ul>
  )
}
