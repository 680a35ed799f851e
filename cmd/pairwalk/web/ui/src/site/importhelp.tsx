// Which columns each kind of sheet has.
import type { JSX } from 'preact'
import { t } from '../words'

const SHEETS = [
  ['schedule', ['tag', 'kind', 'hub'], ['radio', 'floor', 'room', 'x_m', 'y_m', 'z_m', 'circuit', 'power', 'emergency', 'was', 'maker', 'model', 'type', 'warranty_start', 'warranty_months', 'geometry', 'note']],
  ['floors sheet', ['floor', 'level'], ['elevation_m']],
  ['walls sheet', ['floor', 'material', 'thickness_mm', 'points'], ['wall']],
  ['links sheet', ['a', 'b'], ['rssi_dbm', 'pdr', 'lqi', 'when']],
  ['Wi-Fi survey', ['floor', 'x_m', 'y_m', 'channel', 'rssi_dbm'], ['width_mhz', 'when']],
  ['field sheet', ['tag', 'what', 'when'], ['serial', 'by', 'note']],
] as const

export function ImportHelp(): JSX.Element {
  return (
    <details class="site-more">
      <summary>{t('site.help')}</summary>
      <div class="stack">
        <p>{t('site.help.words')}</p>
        {SHEETS.map(([kind, needs, may]) => (
          <section key={kind}>
            <h3>{t(`site.kind.${kind}`)}</h3>
            <p>{t(`site.help.${kind}`)}</p>
            <p>{t('site.help.needs')} {needs.map((c) => <code key={c} class="site-column need">{c}</code>)}</p>
            <p>{t('site.help.may')} {may.map((c) => <code key={c} class="site-column">{c}</code>)}</p>
          </section>
        ))}
        <p>{t('site.help.units')}</p>
        <p>{t('site.help.book')}</p>
      </div>
    </details>
  )
}
