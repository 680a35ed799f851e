// Pieces of forms. What is typed is kept in the browser until it has been recorded,
// under the form's name, so that a reload or a stopped process loses nothing.
import type { ComponentChildren, JSX } from 'preact'
import { useEffect, useId, useRef, useState } from 'preact/hooks'
import { hello, speaker } from '../state'
import { has, t } from '../words'

// useDraft is state that survives a reload, by a name that says which form and
// which subject it is of. clear forgets it.
export function useDraft<T>(name: string, first: T): [T, (v: T) => void, () => void] {
  const key = `pairwalk.draft.${name}`
  const read = (): T => {
    try {
      const kept = localStorage.getItem(key)
      return kept === null ? first : (JSON.parse(kept) as T)
    } catch {
      return first
    }
  }
  const [value, setValue] = useState(read)
  useEffect(() => setValue(read()), [key])
  return [
    value,
    (v) => { localStorage.setItem(key, JSON.stringify(v)); setValue(v) },
    () => { localStorage.removeItem(key); setValue(first) },
  ]
}

interface FieldProps {
  label: string
  value: string
  onInput: (v: string) => void
  hint?: string
  type?: 'text' | 'number' | 'date' | 'search'
  lines?: number
  inputMode?: 'text' | 'numeric' | 'decimal'
  list?: string[]
  autofocus?: boolean
  required?: boolean
}

export function Field({ label, value, onInput, hint, type = 'text', lines, inputMode, list, autofocus, required }: FieldProps): JSX.Element {
  const id = useId()
  const box = useRef<HTMLInputElement>(null)
  useEffect(() => { if (autofocus) box.current?.focus() }, [])
  const common = { id, value, required, 'aria-describedby': hint ? `${id}-hint` : undefined, autocomplete: 'off' as const, autocapitalize: 'off' as const, spellcheck: false }
  return (
    <div class="field">
      <label for={id}>{label}</label>
      {lines
        ? <textarea {...common} rows={lines} onInput={(e) => onInput(e.currentTarget.value)} />
        : <input {...common} ref={box} type={type} inputMode={inputMode} list={list ? `${id}-list` : undefined} onInput={(e) => onInput(e.currentTarget.value)} />}
      {list && <datalist id={`${id}-list`}>{list.map((x) => <option key={x} value={x} />)}</datalist>}
      {hint && <small id={`${id}-hint`}>{hint}</small>}
    </div>
  )
}

// Choice is a row of big buttons of which one is chosen.
export function Choice<T extends string>({ label, options, value, onPick, words }: {
  label: string; options: readonly T[]; value: T | ''; onPick: (v: T) => void; words: (v: T) => string
}): JSX.Element {
  const id = useId()
  return (
    <fieldset class="choice" role="radiogroup" aria-labelledby={id}>
      <legend id={id}>{label}</legend>
      <div class="row">
        {options.map((x) => (
          <button key={x} type="button" role="radio" aria-checked={x === value} onClick={() => onPick(x)}>{words(x)}</button>
        ))}
      </div>
    </fieldset>
  )
}

// Speaker asks who did it, where the page is shared over a network. Put it in every
// form that records something; ready says whether it may be sent.
export function Speaker(): JSX.Element | null {
  if (!hello.value?.beyond) return null
  return <div class="speaker"><Field label={t('speaker')} hint={t('speaker.need')} value={speaker.value} onInput={(v) => { speaker.value = v }} required /></div>
}

// speakerReady says whether an entry may be sent, and else shows what is missing.
export function speakerReady(): boolean {
  if (!hello.value?.beyond || speaker.value.trim() !== '') return true
  const field = [...document.querySelectorAll<HTMLInputElement>('.speaker input')].pop()
  field?.focus()
  field?.reportValidity()
  return false
}

// Panel is a sheet over the screen; Escape and its button close it.
export function Panel({ title, onClose, children, wide }: { title: string; onClose: () => void; children: ComponentChildren; wide?: boolean }): JSX.Element {
  const box = useRef<HTMLDialogElement>(null)
  const id = useId()
  useEffect(() => {
    const d = box.current!
    if (!d.open) d.showModal()
    return () => d.close()
  }, [])
  return (
    <dialog ref={box} class={wide ? 'panel wide' : 'panel'} aria-labelledby={id} onCancel={(e) => { if (e.target === box.current) { e.preventDefault(); onClose() } }}>
      <header>
        <h2 id={id}>{title}</h2>
        <button type="button" class="plain" onClick={onClose}>{t('close')}</button>
      </header>
      {children}
    </dialog>
  )
}

// A caution of the process in the language of the page.
export function inWords(caution: string): string {
  const known = Object.entries(hello.value?.cautions ?? {}).find(([, words]) => words === caution)
  const key = `caution.${known?.[0]}`
  return has(key) ? t(key) : caution
}

// Cautions are shown where work can hurt someone.
export function Cautions({ words }: { words: (string | undefined)[] }): JSX.Element | null {
  const said = [...new Set(words.filter((w): w is string => !!w))]
  if (!said.length) return null
  return <div class="cautions">{said.map((w) => <p key={w} class="caution">{inWords(w)}</p>)}</div>
}

// nameOf takes the class off a subject: device:2-114 reads 2-114.
export const nameOf = (subject: string): string => subject.replace(/^[a-z]+:/, '')
