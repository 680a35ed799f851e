// The log in words: all of it, or one subject's history; and what is written into
// it after the fact.
import type { JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import type { Entry } from '../api'
import { go, route } from '../state'
import { findEntries } from '../story/find'
import { t } from '../words'
import { kindsOf } from '../story/families'
import { Filters } from '../story/filters'
import { FieldSheet } from '../story/sheet'
import { SubjectHead } from '../story/head'
import { Late } from '../story/late'
import { Log } from '../story/log'
import { meant, useNames } from '../names'
import { EntryPanel } from '../story/panel'
import './story.css'

export function Story(): JSX.Element {
  const names = useNames()
  const [open, setOpen] = useState<Entry | null>(null)
  const q = route.value.query
  const entry = q.get('entry') ?? ''
  useEffect(() => { // Back closes the entry
    setOpen(null)
    if (!entry) return undefined
    let gone = false
    findEntries([entry]).then(([e]) => { if (e && !gone) setOpen(e) }, () => undefined)
    return () => { gone = true }
  }, [q])
  const write = q.get('write')
  if (write === 'late') return <Late names={names} />
  if (write === 'sheet') return <FieldSheet names={names} />
  const query: Record<string, string> = {}
  for (const key of ['subject', 'member', 'text', 'at', 'known_by', 'known_at']) if (q.get(key)) query[key] = q.get(key)!
  if (q.get('kind')) query.kind = kindsOf(q.get('kind')!)
  const subject = query.subject ?? ''
  const about = subject && (subject.includes(':') ? subject : (meant(subject, names)[0] ?? subject))
  return (
    <div class="story">
      <header class="story-top">
        <h1>{t('screen.story')}</h1>
        <div class="row">
          <button type="button" class="big" onClick={() => go('story', about ? { write: 'late', subject: about } : { write: 'late' })}>{t('story.late')}</button>
          <button type="button" class="big" onClick={() => go('story', { write: 'sheet' })}>{t('story.sheet')}</button>
        </div>
      </header>
      <Filters names={names} />
      {about && <SubjectHead key={about} subject={about} names={names} onOpen={setOpen} />}
      <Log key={JSON.stringify(query)} query={query} onOpen={setOpen} />
      {open && <EntryPanel key={open.ref} entry={open} onClose={() => setOpen(null)} onOpen={setOpen} />}
    </div>
  )
}
