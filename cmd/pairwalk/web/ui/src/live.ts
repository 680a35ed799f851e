// live documents: asked for again whenever the log has grown, and never blanked
// while a new answer is on its way.
import { useEffect, useRef, useState } from 'preact/hooks'
import { get, Refused, Unreached } from './request'
import { reached, stranger, version } from './state'

export interface Live<T> {
  data: T | null
  problem: string // what the process said against it
  again: () => void
}

// useLive asks for a document and keeps it up to date. Without a path it asks for
// nothing. An answer that a later question overtook is dropped.
export function useLive<T>(path: string | null, query: Record<string, string | number | boolean | undefined> = {}): Live<T> {
  const [data, setData] = useState<T | null>(null)
  const [problem, setProblem] = useState('')
  const [round, setRound] = useState(0)
  const asked = JSON.stringify([path, query])
  const shown = useRef('')
  const v = version.value
  useEffect(() => {
    if (path === null) return undefined
    const stop = new AbortController()
    get<T>(path, query, stop.signal).then(
      (doc) => {
        shown.current = asked
        setProblem('')
        setData(doc)
      },
      (error: unknown) => {
        if (stop.signal.aborted) return
        if (error instanceof Unreached) reached.value = false
        else if (error instanceof Refused && error.status === 401) stranger.value = true
        else setProblem(error instanceof Error ? error.message : String(error))
      },
    )
    return () => stop.abort()
  }, [asked, v, round])
  return { data, problem, again: () => setRound(round + 1) }
}
