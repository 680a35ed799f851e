// What stands above the picture: which floor, picture or list, and the tools.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Team } from '../api'
import { clock, day } from '../times'
import { t } from '../words'
import { asked, moment, moveTo, settle, turnTo } from './desk'

export interface Tool { words: string; on?: boolean; act: () => void }

const FEW = 9 // floors that have a button each, where there is room

export interface HeadProps { floors: string[]; floor: string; tools: Tool[]; list: boolean; choice: boolean; onLegend: () => void }

export function Head({ floors, floor, tools, list, choice, onLegend }: HeadProps): JSX.Element {
  const [more, setMore] = useState(false)
  const pick = (f: string): void => turnTo({ floor: f, device: '', hub: '' })
  const name = (f: string): string => (f ? t('plan.floor.n', { floor: f }) : t('plan.floor.none'))
  return (
    <header class="plan-head">
      <h1>{t('screen.plan')}</h1>
      <div class="plan-floor">
        <label class="hidden" for="plan-floor">{t('plan.floor')}</label>
        <select id="plan-floor" value={floor} onChange={(e) => pick(e.currentTarget.value)}>
          {floors.map((f) => <option key={f} value={f}>{name(f)}</option>)}
        </select>
      </div>
      {floors.length <= FEW && (
        <div class="plan-floors row" role="group" aria-label={t('plan.floor')}>
          {floors.map((f) => <button key={f} type="button" class="big" aria-pressed={f === floor} onClick={() => pick(f)}>{f || t('plan.floor.none')}</button>)}
        </div>
      )}
      {choice && <button type="button" class="plan-toggle" onClick={() => turnTo({ view: list ? '' : 'list' })}>{t(list ? 'plan.picture' : 'plan.list')}</button>}
      <button type="button" onClick={onLegend}>{t('plan.legend')}</button>
      <button type="button" class="plan-more" aria-expanded={more} aria-controls="plan-tools" onClick={() => setMore(!more)}>{t(more ? 'plan.fewer' : 'more')}</button>
      <div id="plan-tools" class={more ? 'plan-tools row open' : 'plan-tools row'}>
        {tools.map((x) => <button key={x.words} type="button" aria-pressed={x.on} onClick={x.act}>{x.words}</button>)}
      </div>
    </header>
  )
}

// Banner says which moment is shown, and as known to whom; where that is not now and
// everything, it says so with a button that ends it. It always takes the same room,
// so that nothing moves under the finger.
export function Banner(): JSX.Element {
  const at = moment.value
  const { knownBy } = asked.value
  const back = (): void => {
    moveTo(null)
    settle()
    turnTo({ at: '', known_by: '' })
  }
  const who = knownBy ? `, ${t('plan.knownto', { name: knownBy })}` : ''
  return (
    <section class={at === null && !knownBy ? 'plan-banner' : 'plan-banner past'} aria-label={t('plan.shown')}>
      <p class="num"><b>{at === null ? t('plan.now') : t('plan.asof', { at: `${day(at)} ${clock(at)}` })}<bdi>{who}</bdi></b></p>
      {(at !== null || knownBy) && <button type="button" class="act" onClick={back}>{t('plan.back')}</button>}
    </section>
  )
}

export function KnownTo({ team }: { team: Team | null }): JSX.Element {
  const { knownBy } = asked.value
  const names = [...new Set([...(team?.members.map((m) => m.name) ?? []), ...(knownBy ? [knownBy] : [])])]
  return (
    <div class="plan-known">
      <label for="plan-known">{t('plan.known')}</label>
      <select id="plan-known" value={knownBy} onChange={(e) => turnTo({ known_by: e.currentTarget.value })}>
        <option value="">{t('plan.known.all')}</option>
        {names.map((n) => <option key={n} value={n}>{n}</option>)}
      </select>
    </div>
  )
}
