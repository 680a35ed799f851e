// What a serial's field does with what is typed, photographed and filmed. The raw
// text of a label is never given on: onChange, whose values may be kept as a draft,
// gets plain serials and what the process says may be kept. Text that may be more
// stays in this memory until the process has judged it.
import { useEffect, useRef, useState } from 'preact/hooks'
import type { Label } from '../api'
import { noSerial, type SerialValue } from './value'
import { t } from '../words'
import type { Words } from './camera'
import type { Code } from './codes'
import { outcomeOf, readCodes, readTexts, type Outcome } from './label'
import { Blind } from './look'
import { readPhoto, Unseen } from './photo'
import { isMore } from './typed'

const PAUSE_MS = 900 // of typing, before text that is more is read

type Source = SerialValue['source']

export interface Reading {
  raw: string | null // typed, and not taken as a serial yet
  busy: boolean
  outcome: Outcome | null // of the last label, for as long as the form holds what it gave
  typed: (text: string) => void
  judge: (again: boolean) => void // asks about what was typed, once unless it is asked for again
  photographed: (picture: Blob) => void
  filmed: (codes: Code[]) => Promise<Words[] | null> // the words if they give nothing
  choose: (label: Label) => void
  none: () => void // of the choices
  asTyped: () => void
  forget: () => void // what was asked counts no more
}

export function useReading(value: SerialValue, onChange: (v: SerialValue) => void): Reading {
  const form = useRef({ value, onChange }) // as they are when a reading comes, not when it began
  form.current = { value, onChange }
  const turn = useRef(0) // only what was asked last is shown
  const judged = useRef<string | null>(null) // what was asked about last
  const [raw, setRaw] = useState<string | null>(null)
  const [busy, setBusy] = useState(false)
  const [found, setFound] = useState<{ outcome: Outcome; source: Source } | null>(null)

  const forget = (): void => {
    turn.current++
    setBusy(false)
  }
  const take = (label: Label, source: Source): void => {
    setRaw(null)
    form.current.onChange({ text: label.serial, source, label: label.form === 'plain' && source === 'typed' ? '' : label.text })
  }
  const show = (outcome: Outcome, source: Source): void => {
    setFound({ outcome, source })
    if (outcome.taken) return take(outcome.taken, source)
    if (outcome.secret) setRaw(null) // not even to look at
    if (form.current.value.source === 'scan') form.current.onChange(noSerial) // of the label before
  }
  // ask shows what comes of it, unless something was asked since.
  const ask = async (work: () => Promise<Outcome>, source: Source): Promise<void> => {
    const mine = ++turn.current
    setFound(null)
    setBusy(true)
    const outcome = await work()
    if (mine !== turn.current) return
    setBusy(false)
    show(outcome, source)
  }

  const typed = (text: string): void => {
    forget()
    setFound(null)
    judged.current = null
    const more = isMore(text)
    setRaw(more ? text : null)
    if (!more) onChange({ text, source: 'typed', label: '' })
    else if (value.text !== '') onChange(noSerial)
  }
  const judge = (again: boolean): void => {
    if (raw === null || (judged.current === raw && (busy || !again))) return
    judged.current = raw
    void ask(() => readTexts([raw]), 'typed')
  }
  useEffect(() => {
    if (raw === null) return undefined
    const timer = setTimeout(() => judge(false), PAUSE_MS)
    return () => clearTimeout(timer)
  }, [raw])
  useEffect(() => () => { turn.current++ }, [])

  const photographed = (picture: Blob): void => {
    void ask(() => readPhoto(picture).then(readCodes, (problem: unknown) => outcomeOf(t(whyNot(problem)))), 'scan')
  }
  const filmed = async (codes: Code[]): Promise<Words[] | null> => {
    const mine = turn.current
    const outcome = await readCodes(codes)
    if (mine !== turn.current) return null
    if (!outcome.taken && !outcome.choices.length) {
      return [...outcome.ours.map((text) => ({ text })), ...outcome.theirs.map((text) => ({ text, english: true }))]
    }
    navigator.vibrate?.(80)
    show(outcome, 'scan')
    return null
  }

  return {
    raw, busy, typed, judge, photographed, filmed, forget,
    outcome: found && (!found.outcome.taken || found.outcome.taken.serial === value.text) ? found.outcome : null,
    choose: (label) => {
      take(label, found!.source)
      setFound({ ...found!, outcome: { ...found!.outcome, taken: label, choices: [], theirs: label.notes } })
    },
    none: () => {
      setRaw(null)
      setFound(null)
    },
    asTyped: () => {
      onChange({ text: raw!.trim(), source: 'typed', label: '' })
      setRaw(null)
      setFound(null)
    },
  }
}

const whyNot = (problem: unknown): Blind['why'] | 'scan.unseen' | 'scan.unread' =>
  problem instanceof Blind ? problem.why : problem instanceof Unseen ? 'scan.unseen' : 'scan.unread'
