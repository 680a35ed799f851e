// Whether an answer is to the question asked now, or still to the one before.
import { useRef } from 'preact/hooks'
import { useLive, type Live } from '../live'

export interface Fresh<T> extends Live<T> { fresh: boolean }

export function useFresh<T>(path: string | null, query: Record<string, string | boolean | undefined> = {}): Fresh<T> {
  const live = useLive<T>(path, query)
  const key = JSON.stringify([path, query])
  const was = useRef<{ key: string; old: T | null }>({ key, old: null })
  if (was.current.key !== key) was.current = { key, old: live.data }
  return { ...live, fresh: path !== null && live.data !== null && live.data !== was.current.old }
}
