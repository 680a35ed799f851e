// The serial of a unit: typed, read from a photo of its label, or by the live
// camera. All three stand side by side.
//
// The raw text of a label is never given on: onChange, whose values may be kept as
// a draft, gets plain serials and what the process says may be kept. Text that may
// be more stays in this field's own memory until the process has judged it.
import type { JSX } from 'preact'
import { useEffect, useId, useRef, useState } from 'preact/hooks'
import type { Label } from '../api'
import { Camera, type Words } from '../scan/camera'
import type { Code } from '../scan/codes'
import { Choices, Found } from '../scan/found'
import { outcomeOf, readCodes, readTexts, type Outcome } from '../scan/label'
import { Blind, warm } from '../scan/look'
import { readPhoto, Unseen } from '../scan/photo'
import { isMore, mayStand } from '../scan/typed'
import { findCamera, lack } from '../scan/watch'
import { t } from '../words'
import '../scan/scan.css'

export interface SerialValue { text: string; source: 'typed' | 'scan'; label: string }
export const noSerial: SerialValue = { text: '', source: 'typed', label: '' }

const PAUSE_MS = 900 // of typing, before text that is more is read

export function SerialField({ value, onChange, autofocus }: { value: SerialValue; onChange: (v: SerialValue) => void; autofocus?: boolean }): JSX.Element {
  const id = useId()
  const box = useRef<HTMLInputElement>(null)
  const file = useRef<HTMLInputElement>(null)
  const filming = useRef<HTMLButtonElement>(null)
  const telling = useRef<HTMLDivElement>(null)
  const form = useRef({ value, onChange }) // as they are when a reading comes, not when it began
  form.current = { value, onChange }
  const turn = useRef(0) // only what was asked last is shown
  const [raw, setRaw] = useState<string | null>(null) // typed, and not yet judged
  const judged = useRef<string | null>(null) // what was asked about last
  const [busy, setBusy] = useState(false)
  const [live, setLive] = useState(false)
  const [found, setFound] = useState<{ outcome: Outcome; source: SerialValue['source'] } | null>(null)
  useEffect(() => {
    findCamera()
    if (autofocus) box.current?.focus()
    return () => { turn.current++ }
  }, [])
  // Not to the field: that would bring up a keyboard.
  useEffect(() => (live ? () => filming.current?.focus() : undefined), [live])

  const take = (label: Label, source: SerialValue['source']): void => {
    setRaw(null)
    form.current.onChange({ text: label.serial, source, label: label.form === 'plain' && source === 'typed' ? '' : label.text })
  }
  const show = (outcome: Outcome, source: SerialValue['source']): void => {
    setFound({ outcome, source })
    if (outcome.taken) take(outcome.taken, source)
    else if (outcome.secret) setRaw(null) // not even to look at
    if (!outcome.taken && form.current.value.source === 'scan') form.current.onChange(noSerial) // of the label before
  }
  // ask shows what comes of it, unless something was asked since.
  const ask = async (work: () => Promise<Outcome>, source: SerialValue['source']): Promise<void> => {
    const mine = ++turn.current
    setFound(null)
    setBusy(true)
    const outcome = await work()
    if (mine !== turn.current) return
    setBusy(false)
    show(outcome, source)
  }

  const typed = (text: string): void => {
    turn.current++
    setBusy(false)
    setFound(null)
    const more = isMore(text)
    judged.current = null
    setRaw(more ? text : null)
    if (!more) onChange({ text, source: 'typed', label: '' })
    else if (value.text !== '') onChange(noSerial)
  }
  // judge asks about what was typed, once unless it is asked for again.
  const judge = (again: boolean): void => {
    if (raw === null || (judged.current === raw && (busy || !again))) return
    judged.current = raw
    void ask(() => readTexts([raw]), 'typed')
  }
  useEffect(() => {
    // A form is not sent without the serial that somebody has just typed.
    box.current?.setCustomValidity(raw === null ? '' : t('scan.pending'))
    if (raw === null) return undefined
    const timer = setTimeout(() => judge(false), PAUSE_MS)
    return () => clearTimeout(timer)
  }, [raw])

  const photographed = (picture: Blob): void => {
    void ask(() => readPhoto(picture).then(readCodes, (problem: unknown) =>
      outcomeOf(t(problem instanceof Blind ? problem.why : problem instanceof Unseen ? 'scan.unseen' : 'scan.unread'))), 'scan')
  }
  const filmed = async (codes: Code[]): Promise<Words[] | null> => {
    const mine = turn.current
    const outcome = await readCodes(codes)
    if (mine !== turn.current) return null
    if (!outcome.taken && !outcome.choices.length) {
      return [...outcome.ours.map((text) => ({ text })), ...outcome.theirs.map((text) => ({ text, english: true }))]
    }
    navigator.vibrate?.(80)
    setLive(false)
    show(outcome, 'scan')
    return null
  }
  // film opens or closes the camera; what was asked before counts no more.
  const film = (on: boolean): void => {
    turn.current++
    setBusy(false)
    setLive(on)
  }
  const asTyped = (): void => {
    onChange({ text: raw!.trim(), source: 'typed', label: '' })
    setRaw(null)
    setFound(null)
  }

  const choose = (label: Label): void => {
    take(label, found!.source)
    setFound({ ...found!, outcome: { ...found!.outcome, taken: label, choices: [], theirs: label.notes } })
    telling.current?.focus()
  }
  const none = (): void => {
    setRaw(null)
    setFound(null)
    box.current?.focus()
  }
  // What was read is told for as long as the form holds it.
  const shown = found && (!found.outcome.taken || found.outcome.taken.serial === value.text) ? found.outcome : null

  return (
    <div class="scan">
      <div class="field">
        <label for={id}>{t('serial')}</label>
        <input id={id} ref={box} type="text" value={raw ?? value.text} autocomplete="off" autocapitalize="off" spellcheck={false}
          aria-describedby={`${id}-said`} onInput={(e) => typed(e.currentTarget.value)} onBlur={() => judge(false)}
          onKeyDown={(e) => { if (e.key === 'Enter' && raw !== null) { e.preventDefault(); judge(true) } }} />
      </div>
      <div class="scan-ways" role="group" aria-label={t('scan.ways')}>
        <button type="button" class="big" onClick={() => { warm(); file.current!.click() }}>{t('scan.photo')}</button>
        {lack.value === null && <button ref={filming} type="button" class="big" onClick={() => film(true)}>{t('scan.camera')}</button>}
      </div>
      {/* A file picker's cancel bubbles, and would close the panel that this stands in. */}
      <input ref={file} type="file" accept="image/*" capture="environment" hidden aria-hidden="true" tabIndex={-1} onCancel={(e) => e.stopPropagation()}
        onChange={(e) => {
          const picture = e.currentTarget.files?.[0]
          e.currentTarget.value = '' // the same photo may be chosen again
          if (picture) photographed(picture)
        }} />
      {lack.value && <small>{t(lack.value)}</small>}
      <div id={`${id}-said`} class="scan-said" role="status" tabIndex={-1} ref={telling}>
        {busy && <p>{t('scan.reading')}</p>}
        {shown && <Found outcome={shown} />}
      </div>
      {shown && shown.choices.length > 0 && <Choices choices={shown.choices} onChoose={choose} onNone={none} />}
      {shown && !shown.choices.length && raw !== null && mayStand(raw, shown.judged) && (
        <button type="button" class="big" onClick={asTyped}>{t('scan.as-typed')}</button>
      )}
      {live && <Camera onCodes={filmed} onClose={() => film(false)} />}
    </div>
  )
}
