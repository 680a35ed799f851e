// Entries by their names.
import { useEffect, useMemo, useState } from 'preact/hooks'
import type { Entry } from '../api'
import { get } from '../request'

// findEntries asks for entries by their refs, and by a subject they are about.
export async function findEntries(refs: string[], subject = ''): Promise<Entry[]> {
  const { entries } = await get<{ entries: Entry[] }>('story', { refs: refs.join(','), subject, limit: 500 })
  return entries.filter((e) => refs.includes(e.ref) || refs.includes(e.id))
}

const found = new Map<string, Entry>() // what withdrawals speak of; entries never change

const MOST = 40 // in one question

// useTargets finds the entries that the withdrawals among some entries speak of.
export function useTargets(entries: Entry[]): Map<string, Entry> {
  const [round, setRound] = useState(0)
  for (const e of entries) if (e.withdrawn) found.set(e.ref, e)
  const lacks = entries.map((e) => (e.kind === 'event.voided' ? String(e.body?.event ?? '') : '')).filter((ref) => ref && !found.has(ref)).slice(0, MOST).join(',')
  useEffect(() => {
    if (!lacks) return undefined
    let gone = false
    findEntries(lacks.split(',')).then((list) => {
      for (const e of list) found.set(e.ref, e)
      if (list.length && !gone) setRound((n) => n + 1)
    }, () => undefined)
    return () => { gone = true }
  }, [lacks])
  return useMemo(() => new Map(found), [round, entries]) // a new one, or nothing below is drawn anew
}
