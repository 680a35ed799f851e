// The frame around every screen: what stands on this device alone, the screen, what
// was said last, and the way to the other screens.
import { Component, type ComponentChildren, type JSX } from 'preact'
import { useEffect, useRef } from 'preact/hooks'
import { outbox, said, throwAway, tryAgain } from './outbox'
import { post, Refused } from './request'
import { hello, language, practice, reached, route, SCREENS, stranger, strip, theme, type Screen } from './state'
import { ago, apart } from './times'
import { t, tn } from './words'
import { Now } from './screens/now'
import { Plan } from './screens/plan'
import { Story } from './screens/story'
import { Trouble } from './screens/trouble'
import { Team } from './screens/team'
import { Site } from './screens/site'
import { Cautions } from './parts/form'
import { Glyph } from './parts/glyph'

const screens: Record<Screen, () => JSX.Element> = { now: Now, plan: Plan, story: Story, trouble: Trouble, team: Team, site: Site }

export function Shell(): JSX.Element {
  if (stranger.value && !hello.value) return <Stranger />
  const { screen } = route.value
  const Screen = screens[screen]
  return (
    <div class="shell">
      <a class="skip" href="#main" onClick={(e) => { e.preventDefault(); document.getElementById('main')?.focus() }}>{t('skip')}</a>
      <header class="top">
        {practice.value && <p class="practice">{t('practice')}</p>}
        <StripLine />
        <Lacks />
      </header>
      <Bar />
      <main id="main" tabIndex={-1} class={`screen screen-${screen}`} aria-label={t(`screen.${screen}`)}>
        {hello.value ? <Guard key={screen}><Screen /></Guard> : <p class="quiet">{t('loading')}</p>}
      </main>
      <SaidLine />
    </div>
  )
}

// Guard keeps the frame alive where a screen fails: the other screens still work,
// and what was typed is kept.
class Guard extends Component<{ children: ComponentChildren }, { problem: string }> {
  override state = { problem: '' }
  override componentDidCatch(problem: unknown): void {
    console.error(problem)
    this.setState({ problem: problem instanceof Error ? problem.message : String(problem) })
  }
  override render(): ComponentChildren {
    if (!this.state.problem) return this.props.children
    return (
      <div class="stack" role="alert">
        <h1>{t('broken.title')}</h1>
        <p>{t('broken.words')}</p>
        <p class="quiet">{this.state.problem}</p>
        <button type="button" class="act" onClick={() => location.reload()}>{t('broken.again')}</button>
      </div>
    )
  }
}

function Bar(): JSX.Element {
  const { screen } = route.value
  const marks: Partial<Record<Screen, number>> = { trouble: (strip.value?.conflicts ?? 0) + (strip.value?.faults ?? 0) }
  return (
    <nav class="bar" aria-label="pairwalk">
      {SCREENS.map((name) => (
        <a key={name} href={`#/${name}`} aria-current={name === screen ? 'page' : undefined}>
          <Glyph name={name} />
          <span>{t(`screen.${name}`)}</span>
          {marks[name] ? <b class="count">{marks[name]}</b> : null}
        </a>
      ))}
      <div class="bar-end">
        <button type="button" class="plain" onClick={() => { theme.value = theme.value === 'dark' ? 'light' : 'dark' }}>{t(theme.value === 'dark' ? 'theme.light' : 'theme.dark')}</button>
        <button type="button" class="plain" lang={language.value === 'en' ? 'de' : 'en'} onClick={() => { language.value = language.value === 'en' ? 'de' : 'en' }}>{t('language')}</button>
      </div>
    </nav>
  )
}

// StripLine says in words what only this device holds, and since when it has not
// met anybody.
function StripLine(): JSX.Element {
  const s = strip.value
  const wait = outbox.value.filter((d) => !d.problem).length
  const bad = outbox.value.length - wait
  const parts: string[] = []
  if (bad) parts.push(tn('strip.problem', bad))
  if (wait) parts.push(tn('strip.waiting', wait))
  if (!reached.value && hello.value) parts.push(t('strip.away'))
  if (s) {
    if (s.broken) parts.push(t('strip.broken', { why: s.broken }))
    parts.push(s.unsent ? tn('strip.unsent', s.unsent) : s.last ? t('strip.sent') : '')
    parts.push(s.last ? t('strip.last', { member: s.last.member, ago: ago(s.last.at) }) : t('strip.alone'))
    if (s.pictures_away) parts.push(tn('strip.pictures', s.pictures_away))
    if (s.within.length) parts.push(t('strip.within', { names: s.within.join(', ') }))
    parts.push(...s.clocks.map(apart))
  }
  const grave = bad > 0 || !reached.value || !!s?.broken
  return (
    <>
      <p class={grave ? 'strip grave' : 'strip'} role="status">{parts.filter(Boolean).map((p, i) => <span key={i}>{p}</span>)}</p>
      {outbox.value.filter((d) => d.problem).map((d) => (
        <section key={d.once} class="problem" role="alert">
          <p><b>{t('problem.title')}: {d.words}</b></p>
          <p>{d.problem}</p>
          <div class="row">
            <button type="button" onClick={() => tryAgain(d.once)}>{t('problem.again')}</button>
            <button type="button" onClick={() => throwAway(d.once)}>{t('problem.drop')}</button>
          </div>
        </section>
      ))}
    </>
  )
}

// Lacks names what a browser does not allow over this connection.
function Lacks(): JSX.Element | null {
  if (!hello.value?.beyond || isSecureContext) return null
  return <p class="strip">{t('strip.lacks', { what: `${t('lacks.camera')}, ${t('lacks.wake')}` })}</p>
}

// SaidLine tells what was recorded last, and offers to take it back.
function SaidLine(): JSX.Element | null {
  const s = said.value
  const box = useRef<HTMLElement>(null)
  useEffect(() => {
    if (!s || s.logged.cautions.length || s.logged.flagged.length || s.logged.not_counted.length) return undefined
    const timer = setTimeout(() => { if (!box.current?.matches(':focus-within')) said.value = null }, 12000)
    return () => clearTimeout(timer)
  }, [s])
  if (!s) return <div class="said-none" role="status" />
  const undo = async (): Promise<void> => {
    try {
      for (const e of s.logged.entries) {
        await post('void', { ref: e.ref, why: 'did-not-happen', note: '' })
      }
      said.value = { words: t('said.undone', { words: s.words }), logged: { entries: [], flagged: [], not_counted: [], cautions: [], again: false }, at: Date.now() }
    } catch (problem) {
      if (problem instanceof Refused) said.value = { ...s, words: problem.message }
    }
  }
  return (
    <section class="said" role="status" ref={box}>
      <div>
        <p><b>{s.words}</b></p>
        {s.logged.not_counted.map((w) => <p key={w} class="warn">{t('said.uncounted', { words: w })}</p>)}
        {s.logged.flagged.map((w) => <p key={w} class="warn">{t('said.flagged', { words: w })}</p>)}
        <Cautions words={s.logged.cautions} />
      </div>
      <div class="row">
        {s.logged.entries.length > 0 && <button type="button" onClick={undo}>{t('said.undo')}</button>}
        <button type="button" class="plain" onClick={() => { said.value = null }}>{t('said.close')}</button>
      </div>
    </section>
  )
}

function Stranger(): JSX.Element {
  return (
    <main class="stranger">
      <h1>{t('stranger.title')}</h1>
      <p>{t('stranger.words')}</p>
    </main>
  )
}

