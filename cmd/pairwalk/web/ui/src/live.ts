// live documents: asked for again whenever the log has grown, and never blanked
// while a new answer is on its way. An answer that is the same still is not sent
// again, and nothing is drawn anew for it.
import { effect, untracked, type ReadonlySignal } from '@preact/signals'
import { useLayoutEffect, useState } from 'preact/hooks'
import { Refused, request, Unreached } from './request'
import { reached, stranger, version } from './state'

// Growing says how a long document is asked for by what is new in it: after what is
// here, and how both are joined. Where nothing is new, joined gives what was here.
export interface Growing<T> {
  after: (had: T) => Record<string, string>
  joined: (had: T, more: T) => T
}

export interface Live<T> {
  data: T | null
  problem: string // what the process said against it
  again: () => void
}

// useLive asks for a document and keeps it up to date. Without a path it asks for
// nothing. It asks as soon as the log has grown: neither a rendering nor a frame
// comes before. While an answer is on its way it waits for that, however often the
// log grows, so that a flood of entries does not keep everything from being shown.
// What moves without the log names the signal that says so.
export function useLive<T>(path: string | null, query: Record<string, string | number | boolean | undefined> = {}, moved: ReadonlySignal<unknown> = version, growing?: Growing<T>): Live<T> {
  const [data, setData] = useState<T | null>(null)
  const [problem, setProblem] = useState('')
  const [round, setRound] = useState(0)
  const asked = JSON.stringify([path, query])
  useLayoutEffect(() => {
    if (path === null) return undefined
    const stop = new AbortController()
    let busy = false
    let stale = false
    let unless = ''
    let had: T | null = null // as far as it is an answer to this question
    const ask = async (): Promise<void> => {
      if (busy) {
        stale = true
        return
      }
      busy = true
      stale = false
      try {
        const after = had !== null && growing ? growing.after(had) : {}
        const answer = await request('GET', path, { query: { ...query, ...after }, signal: stop.signal, unless })
        const more = answer.status === 304 ? null : ((await answer.json()) as T)
        if (stop.signal.aborted) return
        if (more !== null) had = had !== null && growing ? growing.joined(had, more) : more
        unless = answer.headers.get('ETag') ?? ''
        setProblem('')
        setData(had)
      } catch (error) {
        if (stop.signal.aborted) return
        if (error instanceof Unreached) reached.value = false
        else if (error instanceof Refused && error.status === 401) stranger.value = true
        else setProblem(error instanceof Error ? error.message : String(error))
      }
      busy = false
      if (stale) void ask()
    }
    const end = effect(() => {
      void moved.value
      untracked(() => void ask())
    })
    return () => {
      end()
      stop.abort()
    }
  }, [asked, round])
  return { data, problem, again: () => setRound(round + 1) }
}
