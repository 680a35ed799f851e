// Questions asked by a button. What was answered stays until it is asked again,
// also while another part of the site is looked at; the log may have grown since.
import { signal, type Signal } from '@preact/signals'
import { speakerReady } from '../parts/form'
import { Refused, Unreached } from '../request'
import { now, reached, version } from '../state'
import { t } from '../words'

interface Answer<T> { data: T | null; problem: string; busy: boolean; at: number; version: number }

export interface Asked<T> extends Answer<T> {
  stale: boolean // the log has grown since
  ask: (question: () => Promise<T>) => Promise<T | null>
  forget: () => void
}

const answers = new Map<string, Signal<Answer<unknown>>>()
const nothing: Answer<unknown> = { data: null, problem: '', busy: false, at: 0, version: 0 }

// useAsked is the last answer under a name. An answer that a later question
// overtook is dropped.
export function useAsked<T>(name: string): Asked<T> {
  let kept = answers.get(name) as Signal<Answer<T>> | undefined
  if (!kept) {
    kept = signal(nothing as Answer<T>)
    answers.set(name, kept as Signal<Answer<unknown>>)
  }
  const s = kept
  const ask = async (question: () => Promise<T>): Promise<T | null> => {
    const mine: Answer<T> = { ...s.value, busy: true, problem: '' }
    s.value = mine
    const asked = version.value
    try {
      const data = await question()
      if (s.value !== mine) return null
      s.value = { data, problem: '', busy: false, at: now.value, version: asked }
      return data
    } catch (problem) {
      if (s.value === mine) s.value = { ...mine, busy: false, problem: problemWords(problem) }
      return null
    }
  }
  const a = s.value
  return { ...a, stale: a.data !== null && a.version !== version.value, ask, forget: () => { s.value = nothing as Answer<T> } }
}

// needSpeaker stops what is recorded over a network without a name.
export function needSpeaker(): void {
  if (!speakerReady()) throw new Error(t('speaker.need'))
}

// problemWords is what went wrong, to a person.
export function problemWords(problem: unknown): string {
  if (problem instanceof Unreached) {
    reached.value = false
    return t('site.away')
  }
  if (problem instanceof Refused) return problem.message
  return problem instanceof Error ? problem.message : String(problem)
}
