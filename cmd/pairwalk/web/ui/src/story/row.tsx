// One entry as a row of the story: when, who, and what, in words.
import type { JSX } from 'preact'
import { useRef } from 'preact/hooks'
import type { Entry } from '../api'
import { clock, day } from '../times'
import { names } from '../names'
import { language } from '../state'
import { t } from '../words'
import { entryWords } from './say'
import { Words } from './words'

interface RowProps { entry: Entry; of?: Entry; fresh?: boolean; onOpen: (e: Entry) => void; dated?: boolean }

// EntryRow is drawn anew only where something of it is another.
export function EntryRow(p: RowProps): JSX.Element {
  const drawn = useRef<{ by: unknown[]; row: JSX.Element } | null>(null)
  const by = [p.entry, p.of, p.fresh, p.onOpen, p.dated, language.value, names(), day(p.entry.at)]
  if (!drawn.current?.by.every((x, i) => x === by[i])) drawn.current = { by, row: row(p) }
  return drawn.current.row
}

function row({ entry: e, of, fresh, onOpen, dated }: RowProps): JSX.Element {
  const words = entryWords(e, of)
  const who = e.by || e.member
  return (
    <li class={`story-row${e.withdrawn ? ' is-withdrawn' : ''}${e.quarantined ? ' is-kept' : ''}`}>
      <button type="button" class="story-open" onClick={() => onOpen(e)}>
        <span class="story-when num">
          <time dateTime={e.at}>{dated ? `${day(e.at)} ${clock(e.at)}` : clock(e.at)}</time>
          {!e.placed && <small>{t('story.unplaced')}</small>}
        </span>
        <span class="story-said">
          <bdi class="story-who">{who}</bdi>{' '}
          <span class="story-what">
            {fresh && <b class="story-new">{t('story.new')} </b>}
            {e.withdrawn ? <s><Words text={words} /></s> : <Words text={words} />}
            {e.withdrawn && <span class="story-why"><b>{t('story.withdrawn')}</b> <bdi>{withdrawnWords(e.withdrawn)}</bdi></span>}
            {e.quarantined && <span class="story-why warn"><b>{t('story.kept')}</b> <bdi>{e.quarantined}</bdi></span>}
          </span>
        </span>
      </button>
    </li>
  )
}

// withdrawnWords says the two reasons there are in the page's language, with the
// note that may stand behind.
export function withdrawnWords(why: string): string {
  return why.replace(/^did-not-happen/, t('story.void.did-not-happen')).replace(/^wrong-detail/, t('story.void.wrong-detail'))
}

// Rows are entries under the headings of their days.
export function Rows({ entries, targets, fresh, onOpen }: { targets: Map<string, Entry>; entries: Entry[]; fresh: Set<string>; onOpen: (e: Entry) => void }): JSX.Element {
  const days: { day: string; key: string; entries: Entry[] }[] = []
  for (const e of entries) {
    const on = day(e.at)
    const last = days[days.length - 1]
    if (last?.day === on) last.entries.push(e)
    else days.push({ day: on, key: `${on} ${days.filter((d) => d.day === on).length}`, entries: [e] })
  }
  return (
    <>
      {days.map((d) => (
        <section key={d.key} class="story-day">
          <h2>{d.day}</h2>
          <ol>{d.entries.map((e) => <EntryRow key={e.ref} entry={e} of={targets.get(String(e.body?.event))} fresh={fresh.has(e.ref)} onOpen={onOpen} />)}</ol>
        </section>
      ))}
    </>
  )
}
