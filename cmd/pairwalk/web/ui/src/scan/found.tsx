// What came of a label: what was read, what was left out, and what to do next.
import type { JSX } from 'preact'
import type { Label } from '../api'
import { has, t } from '../words'
import type { Outcome } from './label'
import './scan.css'

// Found is the words, for a live region.
export function Found({ outcome }: { outcome: Outcome }): JSX.Element {
  const { taken, choices, ours, theirs } = outcome
  return (
    <>
      {taken && <p><b>{t('scan.took')} <bdi>{taken.serial}</bdi></b><br /><small>{about(taken)}</small></p>}
      {choices.length > 0 && <p><b>{t('scan.which')}</b></p>}
      {ours.map((w) => <p key={w}>{w}</p>)}
      {theirs.map((w) => <p key={w} class="scan-theirs quiet" lang="en">{w}</p>)}
    </>
  )
}

// Choices are what the person is to choose among.
export function Choices({ choices, onChoose, onNone }: { choices: Label[]; onChoose: (label: Label) => void; onNone: () => void }): JSX.Element {
  return (
    <div class="scan-choices" role="group" aria-label={t('scan.which')}>
      {choices.map((x) => (
        <button key={x.serial} type="button" class="big" onClick={() => onChoose(x)}>
          <span>
            <b><bdi>{x.serial}</bdi></b><br /><small>{about(x)}</small>
            {x.notes.map((w) => <small key={w} class="scan-note scan-theirs" lang="en">{w}</small>)}
          </span>
        </button>
      ))}
      <button type="button" class="big" onClick={onNone}>{t('scan.none')}</button>
    </div>
  )
}

// about says of what form a label is, and which product it is of.
function about(label: Label): string {
  const form = `scan.form.${label.form}`
  const said = has(form) ? t(form) : label.form
  return label.gtin ? `${said}, ${t('scan.product', { gtin: label.gtin })}` : said
}
