// The serial of a unit: typed, read from a photo of its label, or by the live
// camera. All three stand side by side. What is done with them is in ../scan/reading.
import type { JSX } from 'preact'
import { useEffect, useId, useRef, useState } from 'preact/hooks'
import { Camera } from '../scan/camera'
import { Choices, Found } from '../scan/found'
import { warm } from '../scan/look'
import { useReading } from '../scan/reading'
import { noSerial, type SerialValue } from '../scan/value'
import { mayStand } from '../scan/typed'
import { findCamera, lack } from '../scan/watch'
import { t } from '../words'
import '../scan/scan.css'

export { noSerial, type SerialValue }

export function SerialField({ value, onChange, autofocus }: { value: SerialValue; onChange: (v: SerialValue) => void; autofocus?: boolean }): JSX.Element {
  const id = useId()
  const box = useRef<HTMLInputElement>(null)
  const told = useRef<HTMLDivElement>(null)
  const reading = useReading(value, onChange)
  const { raw, outcome } = reading
  useEffect(() => { if (autofocus) box.current?.focus() }, [])
  // A form is not sent without the serial that somebody has just typed.
  useEffect(() => box.current?.setCustomValidity(raw === null ? '' : t('scan.pending')), [raw])
  return (
    <div class="scan">
      <div class="field">
        <label for={id}>{t('serial')}</label>
        <input id={id} ref={box} type="text" value={raw ?? value.text} autocomplete="off" autocapitalize="off" spellcheck={false}
          aria-describedby={`${id}-said`} onInput={(e) => reading.typed(e.currentTarget.value)} onBlur={() => reading.judge(false)}
          onKeyDown={(e) => { if (e.key === 'Enter' && raw !== null) { e.preventDefault(); reading.judge(true) } }} />
      </div>
      <Ways reading={reading} />
      <div id={`${id}-said`} class="scan-said" role="status" tabIndex={-1} ref={told}>
        {reading.busy && <p>{t('scan.reading')}</p>}
        {outcome && <Found outcome={outcome} />}
      </div>
      {outcome && outcome.choices.length > 0 && (
        <Choices choices={outcome.choices}
          onChoose={(label) => { reading.choose(label); told.current?.focus() }}
          onNone={() => { reading.none(); box.current?.focus() }} />
      )}
      {outcome && !outcome.choices.length && raw !== null && mayStand(raw, outcome.judged) && (
        <button type="button" class="big" onClick={reading.asTyped}>{t('scan.as-typed')}</button>
      )}
    </div>
  )
}

// Ways are the photo and the live camera, or why there is none.
function Ways({ reading }: { reading: ReturnType<typeof useReading> }): JSX.Element {
  const file = useRef<HTMLInputElement>(null)
  const button = useRef<HTMLButtonElement>(null)
  const [live, setLive] = useState(false)
  useEffect(findCamera, [])
  // Back to the button and not to the field, which would bring up a keyboard.
  useEffect(() => (live ? () => button.current?.focus() : undefined), [live])
  const film = (on: boolean): void => {
    reading.forget()
    setLive(on)
  }
  return (
    <>
      <div class="scan-ways" role="group" aria-label={t('scan.ways')}>
        <button type="button" class="big" onClick={() => { warm(); file.current!.click() }}>{t('scan.photo')}</button>
        {lack.value === null && <button ref={button} type="button" class="big" onClick={() => film(true)}>{t('scan.camera')}</button>}
      </div>
      {/* A file picker's cancel bubbles, and would close the panel that this stands in. */}
      <input ref={file} type="file" accept="image/*" capture="environment" hidden aria-hidden="true" tabIndex={-1} onCancel={(e) => e.stopPropagation()}
        onChange={(e) => {
          const picture = e.currentTarget.files?.[0]
          e.currentTarget.value = '' // the same photo may be chosen again
          if (picture) reading.photographed(picture)
        }} />
      {lack.value && <small>{t(lack.value)}</small>}
      {live && (
        <Camera onClose={() => film(false)}
          onCodes={async (codes) => {
            const why = await reading.filmed(codes)
            if (!why) setLive(false)
            return why
          }} />
      )}
    </>
  )
}
