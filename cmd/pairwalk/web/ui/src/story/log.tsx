// The log as a list, the latest first. What grows while one reads further down
// waits behind a button, so that nothing moves under the eye.
import type { JSX } from 'preact'
import { useLayoutEffect, useRef, useState } from 'preact/hooks'
import type { Entry, Story } from '../api'
import { useLive } from '../live'
import { get, Refused } from '../request'
import { t, tn } from '../words'
import { useTargets } from './find'
import { Rows } from './row'

const PAGE = 60
const MOST = 480 // entries that are asked for anew whenever the log grows

const NONE: Entry[] = []

interface Shown { entries: Entry[]; total: number; more: boolean; fresh: Set<string> }

const main = (): HTMLElement | null => document.getElementById('main')

// top says whether the reader is where new entries may come in by themselves.
const atTop = (): boolean => (main()?.scrollTop ?? 0) < 80

export function Log({ query, onOpen }: { query: Record<string, string>; onOpen: (e: Entry) => void }): JSX.Element {
  const [limit, setLimit] = useState(PAGE)
  const live = useLive<Story>('story', { ...query, limit })
  const [shown, setShown] = useState<Shown | null>(null)
  const [waiting, setWaiting] = useState<Story | null>(null)
  const [problem, setProblem] = useState('')
  const held = useRef(false)
  const targets = useTargets(shown?.entries ?? NONE)

  useLayoutEffect(() => {
    if (!live.data) return
    const next = shown ? known(shown, live.data) : live.data
    if (!shown) setShown({ ...next, fresh: new Set() })
    else if (atTop() && !held.current) setShown(grown(shown, next))
    else {
      setShown(amended(shown, next))
      const first = shown.entries[0]
      const came = next.total > shown.total || (first && next.entries[0]?.ref !== first.ref)
      held.current = came || false
      setWaiting(came ? next : null)
    }
  }, [live.data])

  if (live.problem && !shown) return <p class="bad" role="alert">{live.problem}</p>
  if (!shown) return <p class="quiet">{t('loading')}</p>

  const takeIn = (): void => {
    if (waiting) setShown(grown(shown, waiting))
    held.current = false
    setWaiting(null)
    main()?.scrollTo({ top: 0 })
  }
  const earlier = async (): Promise<void> => {
    setProblem('')
    if (shown.entries.length + PAGE <= MOST && !waiting) {
      setLimit(shown.entries.length + PAGE)
      return
    }
    try {
      const older = await get<Story>('story', { ...query, limit: PAGE, before: shown.entries[shown.entries.length - 1]!.ref })
      setShown({ ...shown, entries: [...shown.entries, ...older.entries], more: older.more })
    } catch (error) {
      setProblem(error instanceof Refused ? error.message : t('story.away'))
    }
  }
  const n = waiting ? Math.max(1, waiting.total - shown.total) : 0
  return (
    <div class="story-log">
      <div class="story-came" role="status">
        {waiting && <button type="button" class="big" onClick={takeIn}>{tn('story.came', n)}</button>}
      </div>
      <p class="quiet story-count">{shown.entries.length === 0 ? t('story.empty') : tn('story.total', shown.total)}</p>
      <Rows entries={shown.entries} targets={targets} fresh={shown.fresh} onOpen={onOpen} />
      {problem && <p class="bad" role="alert">{problem}</p>}
      {shown.more
        ? <button type="button" class="big story-earlier" onClick={earlier}>{tn('story.earlier', shown.total - shown.entries.length)}</button>
        : shown.entries.length > 0 && <p class="quiet">{t('story.begin')}</p>}
    </div>
  )
}

// known gives the very entries that are shown where an answer tells the same of them,
// so that their rows stay as they are. What an entry itself says never changes.
function known(shown: Shown, next: Story): Story {
  const had = new Map(shown.entries.map((e) => [e.ref, e]))
  const told: (keyof Entry)[] = ['at', 'placed', 'member', 'by', 'words', 'withdrawn', 'quarantined']
  const same = (e: Entry): Entry => {
    const was = had.get(e.ref)
    return was && told.every((k) => was[k] === e[k]) ? was : e
  }
  return { ...next, entries: next.entries.map(same) }
}

// grown takes a new answer in whole, and keeps the older pages below it.
function grown(shown: Shown, next: Story): Shown {
  const had = new Set(shown.entries.map((e) => e.ref))
  const has = new Set(next.entries.map((e) => e.ref))
  const last = next.entries[next.entries.length - 1]?.ref
  const at = shown.entries.findIndex((e) => e.ref === last)
  const below = at < 0 ? [] : shown.entries.slice(at + 1).filter((e) => !has.has(e.ref))
  const longer = next.entries.length > shown.entries.length && next.total === shown.total // a page more, not news
  return {
    entries: [...next.entries, ...below],
    total: next.total,
    more: below.length ? shown.more : next.more,
    fresh: longer ? shown.fresh : new Set(next.entries.filter((e) => !had.has(e.ref)).map((e) => e.ref)),
  }
}

// amended keeps the list as it is: what was withdrawn meanwhile is struck through
// where it stands, and a page of earlier entries comes in at its end.
function amended(shown: Shown, next: Story): Shown {
  const now = new Map(next.entries.map((e) => [e.ref, e]))
  const end = next.entries.findIndex((e) => e.ref === shown.entries[shown.entries.length - 1]?.ref)
  const had = new Set(shown.entries.map((e) => e.ref))
  const older = end < 0 ? [] : next.entries.slice(end + 1).filter((e) => !had.has(e.ref))
  return { ...shown, entries: [...shown.entries.map((e) => now.get(e.ref) ?? e), ...older], more: end < 0 ? shown.more : next.more }
}
