// live documents: asked for again whenever the log has grown, and never blanked
// while a new answer is on its way.
import { effect, untracked } from '@preact/signals'
import { useLayoutEffect, useState } from 'preact/hooks'
import { get, Refused, Unreached } from './request'
import { reached, stranger, version } from './state'

export interface Live<T> {
  data: T | null
  problem: string // what the process said against it
  again: () => void
}

// useLive asks for a document and keeps it up to date. Without a path it asks for
// nothing. It asks as soon as the log has grown: neither a rendering nor a frame
// comes before. While an answer is on its way it waits for that, however often the
// log grows, so that a flood of entries does not keep everything from being shown.
export function useLive<T>(path: string | null, query: Record<string, string | number | boolean | undefined> = {}): Live<T> {
  const [data, setData] = useState<T | null>(null)
  const [problem, setProblem] = useState('')
  const [round, setRound] = useState(0)
  const asked = JSON.stringify([path, query])
  useLayoutEffect(() => {
    if (path === null) return undefined
    const stop = new AbortController()
    let busy = false
    let stale = false
    const ask = async (): Promise<void> => {
      if (busy) {
        stale = true
        return
      }
      busy = true
      stale = false
      try {
        const doc = await get<T>(path, query, stop.signal)
        if (stop.signal.aborted) return
        setProblem('')
        setData(doc)
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
      void version.value
      untracked(() => void ask())
    })
    return () => {
      end()
      stop.abort()
    }
  }, [asked, round])
  return { data, problem, again: () => setRound(round + 1) }
}
