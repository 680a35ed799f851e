// One entry with everything it holds, and what can be done about it.
import type { ComponentChildren, JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import type { Entry, Story } from '../api'
import { nameOf, Panel } from '../parts/form'
import { get } from '../request'
import { clockSeconds, day, short } from '../times'
import { t } from '../words'
import { Amend } from './amend'
import { findEntries } from './find'
import { names } from '../names'
import { Photo } from './photo'
import { withdrawnWords } from './row'
import { entryWords, fieldsOf, kindWords } from './say'

export function EntryPanel({ entry: e, onClose, onOpen }: { entry: Entry; onClose: () => void; onOpen: (e: Entry) => void }): JSX.Element {
  return (
    <Panel title={entryWords(e)} onClose={onClose}>
      <div class="stack story-panel">
        {e.withdrawn && <Withdrawal entry={e} onOpen={onOpen} />}
        {e.quarantined && <p class="story-note warn"><b>{t('story.kept')}</b> <bdi>{e.quarantined}</bdi></p>}
        <dl class="story-facts">
          <Fact name={t('story.kind')}>{kindWords(e.kind)}</Fact>
          <Fact name={t('story.at')}>{at(e.at)}{!e.placed && <small> {t('story.unplaced.long')}</small>}</Fact>
          {e.when && <Fact name={t('story.told')}>{at(e.when[0])}{e.when[1] !== e.when[0] && ` … ${at(e.when[1])}`}</Fact>}
          <Fact name={t('story.by')}><bdi>{e.by || e.member}</bdi></Fact>
          {e.by && e.by !== e.member && <Fact name={t('story.recorder')}><bdi>{e.member}</bdi></Fact>}
          {fieldsOf(e.kind, e.body ?? {}).map((f) => (
            <Fact key={f.name} name={f.name}>
              {f.subject
                ? <a class="story-link" href={`#/story?subject=${encodeURIComponent(f.subject)}`} onClick={onClose}><bdi>{f.words}</bdi></a>
                : f.ref ? <RefLink entryRef={f.ref} onOpen={onOpen} /> : <bdi>{f.words}</bdi>}
            </Fact>
          ))}
        </dl>
        {e.kind === 'photo.added' && <Photo body={e.body ?? {}} />}
        <div><a class="button" href={planAt(e)} onClick={onClose}>{t('story.to.then')}</a></div>
        <Amend entry={e} onDone={onClose} />
        <details class="story-causes">
          <summary>{t('story.names')}</summary>
          <dl class="story-facts story-refs">
            <Fact name="id"><code>{e.id}</code></Fact>
            <Fact name="ref"><code>{e.ref}</code></Fact>
            <Fact name="kind"><code>{e.kind}</code></Fact>
          </dl>
        </details>
      </div>
    </Panel>
  )
}

// planAt is the plan as it was when this happened.
function planAt(e: Entry): string {
  const tag = String(e.body?.device ?? '') || (String(e.body?.of ?? '').startsWith('device:') ? nameOf(String(e.body?.of)) : '')
  const query: Record<string, string> = { at: e.at }
  const d = names().devices.get(tag)
  if (d) Object.assign(query, d.floor ? { device: tag, floor: d.floor } : { device: tag })
  return `#/plan?${new URLSearchParams(query).toString()}`
}

const at = (time: string): string => `${day(time)} ${clockSeconds(time)}`

function Fact({ name, children }: { name: string; children: ComponentChildren }): JSX.Element {
  return <div><dt>{name}</dt><dd>{children}</dd></div>
}

// Withdrawal says why an entry does not count, and who said so.
function Withdrawal({ entry: e, onOpen }: { entry: Entry; onOpen: (e: Entry) => void }): JSX.Element {
  const [by, setBy] = useState<Entry | null>(null)
  useEffect(() => {
    let gone = false
    get<Story>('story', { kind: 'event.voided', limit: 500 }).then((doc) => { if (!gone) setBy(doc.entries.find((x) => x.body?.event === e.ref) ?? null) }, () => undefined)
    return () => { gone = true }
  }, [e.ref])
  return (
    <div class="story-note stack">
      <p><b>{t('story.withdrawn')}</b> <bdi>{withdrawnWords(e.withdrawn!)}</bdi></p>
      {by && <div><button type="button" onClick={() => onOpen(by)}>{t('story.withdrawn.by', { who: by.by || by.member, at: short(by.at) })}</button></div>}
    </div>
  )
}

// RefLink opens the entry that another one speaks of.
function RefLink({ entryRef, onOpen }: { entryRef: string; onOpen: (e: Entry) => void }): JSX.Element {
  const [found, setFound] = useState<Entry | null>(null)
  useEffect(() => {
    let gone = false
    findEntries([entryRef]).then((list) => { if (!gone) setFound(list[0] ?? null) }, () => undefined)
    return () => { gone = true }
  }, [entryRef])
  if (!found) return <code>{entryRef}</code>
  return <button type="button" onClick={() => onOpen(found)}><bdi>{entryWords(found)}</bdi></button>
}
