// Pieces of the callback: entries that are spoken of, and where they are.
import type { JSX } from 'preact'
import { short } from '../times'
import { Words } from '../story/words'

// storyOf is where an entry stands in the story of a subject.
export const storyOf = (subject: string, ref: string): string => `#/story?${new URLSearchParams({ ...(subject ? { subject } : {}), entry: ref })}`

// EntryLine leads to an entry.
export function EntryLine({ subject, event, at, by, words }: { subject: string; event: string; at: string; by: string; words: string }): JSX.Element {
  return (
    <a class="cb-entry" href={storyOf(subject, event)}>
      <span class="num quiet">{short(at)}</span> <b><Words text={words} /></b> <bdi class="quiet">{by}</bdi>
    </a>
  )
}
