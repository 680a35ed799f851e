// A conflict: what clashes, which entries, what stands meanwhile, and the ways to
// settle it.
import type { JSX } from 'preact'
import { useEffect, useRef, useState } from 'preact/hooks'
import type { Conflict, Entry, Logged } from '../api'
import { useLive } from '../live'
import { said } from '../outbox'
import { Cautions, Field, Speaker, speakerReady, useDraft } from '../parts/form'
import { post, Refused } from '../request'
import { hello } from '../state'
import { has, t, tn, type Key } from '../words'
import { EntryRow } from './row'
import { subjectWords } from './say'
import { Words } from './words'

// Short answers, by what a conflict is about: units, the trade's rules, the log.
const UNITS = ['label', 'both', 'there', 'office']
const RULES = ['agreed', 'heard', 'office']
const LOG = ['them', 'lead', 'known']
const whys = (kind: string): string[] => (/^(paired-twice|serial-twice|two-serials)$/.test(kind) ? UNITS : has(`trouble.cure.${kind}`) ? RULES : LOG)

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
      <p><Words text={c.why} /></p>
      <p class="quiet">{t('trouble.stands')} <Words text={c.stands} /></p>
      {open ? <div class="trouble-open"><Behind conflict={c} onOpen={onOpen} /><Settle conflict={c} /></div> : <div><button type="button" class="big" onClick={() => setOpen(true)}>{t('trouble.settle.open')}</button></div>}
    </article>
  )
}

// Subjects are links to their histories.
export function Subjects({ of }: { of: string[] }): JSX.Element {
  const most = 6
  const first = of.length > most + 1 ? of.slice(0, most) : of
  return <>{first.map((s, i) => <span key={s}><a class="story-link" href={`#/story?subject=${encodeURIComponent(s)}`}><Words text={subjectWords(s)} /></a>{i < first.length - 1 && ', '}</span>)}{first.length < of.length && ` ${tn('trouble.subjects.more', of.length - first.length)}`}</>
}

// Behind are the entries that clash, with who said each and when.
function Behind({ conflict: c, onOpen }: { conflict: Conflict; onOpen: (e: Entry) => void }): JSX.Element {
  const { data, problem } = useLive<{ entries: Entry[] }>('story', { refs: c.events.join(','), subject: c.subjects[0], limit: 500 })
  const found = (data?.entries ?? []).filter((e) => c.events.includes(e.ref))
  const [most, setMost] = useState(6)
  if (problem) return <p class="bad">{problem}</p>
  if (data && !found.length) return <p class="quiet">{t('trouble.behind.none')}</p>
  return (
    <div>
      <ul class="trouble-behind" aria-label={t('trouble.behind')}>{found.slice(0, most).map((e) => <EntryRow key={e.ref} entry={e} dated onOpen={onOpen} />)}</ul>
      {found.length > most && <button type="button" onClick={() => setMost(most + 24)}>{tn('trouble.more', found.length - most)}</button>}
    </div>
  )
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
    if (!speakerReady()) return setProblem(t('speaker.need'))
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
  const cure = `trouble.cure.${c.kind}`
  return (
    <div class="stack trouble-settle">
      {has(cure) && <><p><b>{t(cure)}</b></p><Cautions words={[hello.value?.cautions.push]} /></>}
      <Field label={t(has(cure) ? 'trouble.why.accept' : 'trouble.why')} value={why} onInput={setWhy} />
      <div class="row" role="group" aria-label={t('trouble.why.short')}>
        {whys(c.kind).map((w) => t(`trouble.why.${w}` as Key)).map((w) => <button key={w} type="button" aria-pressed={why === w} onClick={() => { setWhy(w); setProblem('') }}>{w}</button>)}
      </div>
      <Speaker />
      {problem && <p class="bad" role="alert">{problem}</p>}
      {c.offers?.length
        ? (
          <>
            {c.offers.length > 1 && <p><b>{t('trouble.which')}</b></p>}
            {c.offers.map((o) => <button key={o.stands} type="button" class="big trouble-offer" onClick={() => settle(o.stands, o.words)}>{o.stands === 'accepted' ? t('trouble.accepted') : <Words text={o.words} />}</button>)}
          </>
        )
        : <div><button type="button" class="act" onClick={() => settle('', c.why)}>{t('trouble.settle')}</button></div>}
    </div>
  )
}
