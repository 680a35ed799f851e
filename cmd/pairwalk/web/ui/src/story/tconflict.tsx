// A conflict: what clashes, which entries, what stands meanwhile, and the ways to
// settle it.
import type { JSX } from 'preact'
import { useEffect, useRef, useState } from 'preact/hooks'
import type { Conflict, Entry, Logged } from '../api'
import { useLive } from '../live'
import { said } from '../outbox'
import { Field, useDraft } from '../parts/form'
import { post, Refused } from '../request'
import { has, t, type Key } from '../words'
import { EntryRow } from './row'
import { subjectWords } from './say'

const WHYS = ['label', 'both', 'there', 'office'] as const

export function ConflictCard({ conflict: c, asked, few, onOpen }: { conflict: Conflict; asked: boolean; few: boolean; onOpen: (e: Entry) => void }): JSX.Element {
  const box = useRef<HTMLElement>(null)
  const [open, setOpen] = useState(asked || few)
  useEffect(() => {
    if (!asked) return
    setOpen(true)
    box.current?.scrollIntoView({ block: 'start' })
    box.current?.focus()
  }, [asked])
  const kind = `trouble.kind.${c.kind}`
  return (
    <article ref={box} tabIndex={-1} class={`card stack trouble-card${asked ? ' is-asked' : ''}`} aria-label={c.why}>
      <h3>{has(kind) ? t(kind) : c.kind}: <Subjects of={c.subjects} /></h3>
      <p><bdi>{c.why}</bdi></p>
      <p class="quiet">{t('trouble.stands')} <bdi>{c.stands}</bdi></p>
      {open ? <><Behind conflict={c} onOpen={onOpen} /><Settle conflict={c} /></> : <div><button type="button" class="big" onClick={() => setOpen(true)}>{t('trouble.settle.open')}</button></div>}
    </article>
  )
}

// Subjects are links to their histories.
export function Subjects({ of }: { of: string[] }): JSX.Element {
  return <>{of.map((s, i) => <span key={s}>{i > 0 && ', '}<a class="story-link" href={`#/story?subject=${encodeURIComponent(s)}`}><bdi>{subjectWords(s)}</bdi></a></span>)}</>
}

// Behind are the entries that clash, with who said each and when.
function Behind({ conflict: c, onOpen }: { conflict: Conflict; onOpen: (e: Entry) => void }): JSX.Element {
  const { data, problem } = useLive<{ entries: Entry[] }>('story', { refs: c.events.join(','), subject: c.subjects[0], limit: 500 })
  const found = (data?.entries ?? []).filter((e) => c.events.includes(e.ref))
  if (problem) return <p class="bad">{problem}</p>
  if (data && !found.length) return <p class="quiet">{t('trouble.behind.none')}</p>
  return <ul class="trouble-behind" aria-label={t('trouble.behind')}>{found.map((e) => <EntryRow key={e.ref} entry={e} dated onOpen={onOpen} />)}</ul>
}

function Settle({ conflict: c }: { conflict: Conflict }): JSX.Element {
  const [why, setWhy, forget] = useDraft(`resolve.${c.key}`, '')
  const [problem, setProblem] = useState('')
  const [busy, setBusy] = useState(false)
  const settle = async (stands: string, words: string): Promise<void> => {
    if (busy) return
    if (!why.trim()) {
      setProblem(t('trouble.why.need'))
      return
    }
    setBusy(true)
    setProblem('')
    try {
      const logged = await post<Logged>('resolve', { key: c.key, stands, why: why.trim() })
      forget()
      said.value = { words: t('trouble.settled', { words }), logged, at: Date.now() }
    } catch (error) {
      setProblem(error instanceof Refused ? error.message : t('story.away'))
      setBusy(false)
    }
  }
  return (
    <div class="stack trouble-settle">
      <Field label={t('trouble.why')} value={why} onInput={setWhy} />
      <div class="row" role="group" aria-label={t('trouble.why.short')}>
        {WHYS.map((w) => <button key={w} type="button" aria-pressed={why === t(`trouble.why.${w}`)} onClick={() => { setWhy(t(`trouble.why.${w}` as Key)); setProblem('') }}>{t(`trouble.why.${w}` as Key)}</button>)}
      </div>
      {problem && <p class="bad" role="alert">{problem}</p>}
      {c.offers?.length
        ? (
          <>
            <p><b>{t('trouble.which')}</b></p>
            {c.offers.map((o) => <button key={o.stands} type="button" class="big trouble-offer" onClick={() => settle(o.stands, o.words)}><bdi>{o.words}</bdi></button>)}
          </>
        )
        : <div><button type="button" class="act" onClick={() => settle('', c.why)}>{t('trouble.settle')}</button></div>}
    </div>
  )
}
