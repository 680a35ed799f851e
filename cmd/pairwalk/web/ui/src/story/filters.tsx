// What the story is narrowed to. All of it is in the address.
import type { ComponentChildren, JSX } from 'preact'
import { useEffect, useRef, useState } from 'preact/hooks'
import { Field, nameOf } from '../parts/form'
import { go, route } from '../state'
import { short } from '../times'
import { has, t, type Key } from '../words'
import { FAMILY_NAMES } from './families'
import { everything, meant, suggest, type Names } from '../names'
import { kindWords, subjectWords } from './say'

export const FILTERS = ['subject', 'member', 'kind', 'text', 'at', 'known_by', 'known_at'] as const

// narrow changes what the address says. An empty value takes a filter away.
export function narrow(change: Record<string, string>, replace = false): void {
  const query = Object.fromEntries(route.value.query)
  for (const [key, value] of Object.entries(change)) {
    if (value) query[key] = value
    else delete query[key]
  }
  go('story', query, replace)
}

export function Filters({ names }: { names: Names }): JSX.Element {
  const q = route.value.query
  const on = FILTERS.filter((f) => q.get(f))
  const [open, setOpen] = useState(false)
  const kind = q.get('kind') ?? ''
  return (
    <section class="story-filters" aria-label={t('story.filters')}>
      <SubjectFilter names={names} now={q.get('subject') ?? ''}>
        <button type="button" aria-expanded={open} aria-controls="story-more" onClick={() => setOpen(!open)}>{t('story.filters.more')}</button>
      </SubjectFilter>
      {open && (
        <div class="story-filters-rest" id="story-more">
          <KindFilter now={kind} />
          <div class="field">
            <label for="story-member">{t('story.filter.member')}</label>
            <select id="story-member" value={q.get('member') ?? ''} onChange={(e) => narrow({ member: e.currentTarget.value })}>
              <option value="">{t('story.filter.anyone')}</option>
              {[...new Set([...names.members, q.get('member') ?? ''])].filter(Boolean).map((m) => <option key={m} value={m}>{m}</option>)}
            </select>
          </div>
          <TextFilter now={q.get('text') ?? ''} />
        </div>
      )}
      {on.length > 0 && (
        <ul class="row story-on" aria-label={t('story.filters.on')}>
          {on.map((f) => (
            <li key={f}>
              <button type="button" onClick={() => narrow({ [f]: '' })}>
                <span class="quiet">{t(`story.filter.${f}`)}</span> <bdi>{onWords(f, q.get(f) ?? '')}</bdi> <span aria-hidden="true">×</span>
                <span class="hidden">{t('story.filter.off')}</span>
              </button>
            </li>
          ))}
          {on.length > 1 && <li><button type="button" class="plain" onClick={() => narrow(Object.fromEntries(FILTERS.map((f) => [f, ''])))}>{t('story.filters.none')}</button></li>}
        </ul>
      )}
    </section>
  )
}

function onWords(filter: (typeof FILTERS)[number], value: string): string {
  if (filter === 'subject') return value.includes(':') ? subjectWords(value) : value
  if ((filter === 'at' || filter === 'known_at') && !Number.isNaN(Date.parse(value))) return short(value)
  return filter === 'kind' ? familyWords(value) : value
}

export function familyWords(kind: string): string {
  const key = `story.family.${kind}`
  return has(key) ? t(key) : kindWords(kind)
}

function KindFilter({ now }: { now: string }): JSX.Element {
  const own = now !== '' && !FAMILY_NAMES.some((f) => f === now)
  return (
    <div class="field">
      <label for="story-kind">{t('story.filter.kind')}</label>
      <select id="story-kind" value={now} onChange={(e) => narrow({ kind: e.currentTarget.value })}>
        <option value="">{t('story.filter.anything')}</option>
        {FAMILY_NAMES.map((f) => <option key={f} value={f}>{t(`story.family.${f}` as Key)}</option>)}
        {own && <option value={now}>{kindWords(now)}</option>}
      </select>
    </div>
  )
}

function SubjectFilter({ names, now, children }: { names: Names; now: string; children: ComponentChildren }): JSX.Element {
  const [typed, setTyped] = useState(nameOf(now))
  useEffect(() => setTyped(nameOf(now)), [now])
  const found = meant(typed, names)
  const choose = (subject: string): void => narrow({ subject })
  return (
    <form noValidate class="story-subject" role="search" onSubmit={(e) => { e.preventDefault(); choose(found.length === 1 ? found[0]! : typed.trim()) }}>
      <Field label={t('story.filter.about')} type="search" value={typed} list={suggest(typed, everything(names))} onInput={setTyped} />
      <button type="submit">{t('story.filter.show')}</button>
      {children}
      {found.length > 1 && nameOf(now) !== typed && (
        <div class="row">{found.map((s) => <button key={s} type="button" onClick={() => choose(s)}>{classWords(s)}</button>)}</div>
      )}
    </form>
  )
}

const classWords = (subject: string): string => `${t(`story.class.${subject.slice(0, subject.indexOf(':'))}` as Key)} ${nameOf(subject)}`

function TextFilter({ now }: { now: string }): JSX.Element {
  const [typed, setTyped] = useState(now)
  const timer = useRef(0)
  useEffect(() => setTyped(now), [now])
  useEffect(() => () => clearTimeout(timer.current), [])
  const type = (v: string): void => {
    setTyped(v)
    clearTimeout(timer.current)
    timer.current = window.setTimeout(() => narrow({ text: v.trim() }, true), 300)
  }
  return <Field label={t('story.filter.text')} type="search" value={typed} onInput={type} />
}
