// The checks of one room: each test with its limits, and passed or failed in one
// tap.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { CheckResult, CheckRoom, Checks, CheckTest } from '../api_callback'
import * as entries from '../entries'
import { record } from '../outbox'
import { Cautions, Choice, Field, nameOf, Speaker, speakerReady, useDraft } from '../parts/form'
import { storyOf } from '../callback/pieces'
import { reason, subjectWords } from '../story/say'
import { Words } from '../story/words'
import { short } from '../times'
import { hello } from '../state'
import { t, tn, type Key } from '../words'
import { among, limitWords, split } from './tests'

export function Room({ room: r, groups }: { room: CheckRoom; groups: Checks['groups'] }): JSX.Element {
  const { cards, silent, answered } = split(r)
  const drawn = new Set(groups.flatMap((g) => g.drawn))
  const cautions = [...new Set([hello.value?.cautions.push, ...cards.flatMap((x) => x.cautions)])]
  return (
    <div class="stack cb">
      <div class="row">
        <a class="button" href="#/site?part=checks">← {t('checks.rooms.back')}</a>
        {r.room && <a class="button" href={`#/story?${new URLSearchParams({ subject: `room:${r.room}` })}`}>{t('screen.story')}</a>}
      </div>
      <h3><bdi>{r.room || t('checks.noroom')}</bdi> <span class={r.owed ? 'warn' : 'good'}>{r.owed ? tn('checks.room.owed', r.owed) : t('checks.room.done')}</span></h3>
      {r.unknown && <p class="story-note"><Words text={r.unknown} /></p>}
      <Cautions words={cautions} />
      <Speaker />
      <div class="hand-cards">{cards.map((x) => <TestCard key={x.test + x.of} test={x} drawn={drawn} />)}</div>
      {answered > 0 && <p class="good">{tn('checks.answered', answered)}</p>}
      {silent.length > 0 && (
        <section class="stack">
          <h3>{tn('checks.answer', silent.length)}</h3>
          <div class="row">{silent.map((of) => <a key={of} class="button" href={`#/now?subject=${encodeURIComponent(of)}&act=heard`}><bdi>{nameOf(of)}</bdi></a>)}</div>
        </section>
      )}
    </div>
  )
}

function TestCard({ test: x, drawn }: { test: CheckTest; drawn: Set<string> }): JSX.Element {
  const name = reason('test', x.test)
  return (
    <article class={`card stack hand-test hand-${x.state}`} aria-label={`${name}: ${subjectWords(x.of)}`}>
      <h4><b class="hand-state">{t(`checks.state.${x.state}` as Key)}</b> {name}: <Words text={subjectWords(x.of)} /></h4>
      <p class="quiet">{t('checks.why')} {t(`checks.from.${x.from}` as Key)}{x.why && <>: <Words text={x.why} /></>}</p>
      {x.limits.map((l) => <p key={l.name}>{t('checks.limit')} <b><bdi>{l.words}</bdi></b> <small><bdi>{l.source}</bdi></small></p>)}
      {x.verify.length > 0 && <div><p>{t('checks.see')}</p><ul class="cb-list">{x.verify.map((v) => <li key={v}><bdi>{v}</bdi></li>)}</ul></div>}
      {x.waits && <p class="warn">{t('checks.waits')} <Words text={x.waits} /></p>}
      <Results of={x.results} subject={x.of} />
      <Tell test={x} drawn={drawn} />
    </article>
  )
}

// Tell records what came of a test. The instrument stays from test to test.
function Tell({ test: x, drawn }: { test: CheckTest; drawn: Set<string> }): JSX.Element {
  const [reading, setReading, forget] = useDraft(`check.${x.test}.${x.of}.reading`, '')
  const [instrument, setInstrument] = useDraft('checks.instrument', '')
  const [of, setOf] = useState('')
  const [problem, setProblem] = useState('')
  const those = among(x)
  const failed = x.results.some((r) => !r.pass) && x.state !== 'passed'
  const last = x.results.filter((r) => !r.pass).at(-1)
  const tell = (pass: boolean): void => {
    if (those.length && !of) return setProblem(t('checks.which.lacks'))
    if (!speakerReady()) return setProblem(t('speaker.need'))
    setProblem('')
    const subject = of ? `device:${of}` : x.of
    const words = t(pass ? 'checks.said.pass' : 'checks.said.fail', { test: reason('test', x.test), of: subjectWords(subject) })
    record([entries.check(subject, x.test, pass, reading.trim(), instrument.trim(), limitWords(x))], words).catch(() => setReading(reading))
    forget()
    setOf('')
  }
  return (
    <div class="stack hand-tell">
      {those.length > 0 && <Choice label={t('checks.which')} options={those} value={of} onPick={setOf} words={(tag) => (drawn.has(tag) ? `${tag} ●` : tag)} />}
      <div class="cb-moments">
        <Field label={t('now.check.reading')} value={reading} onInput={setReading} />
        <Field label={t('now.check.instrument')} value={instrument} onInput={setInstrument} />
      </div>
      {problem && <p class="bad" role="alert">{problem}</p>}
      <div class="hand-two">
        <button type="button" class="act" onClick={() => tell(true)}>{t(failed ? 'checks.again.pass' : 'checks.pass')}</button>
        <button type="button" class="big" onClick={() => tell(false)}>{t(failed ? 'checks.again.fail' : 'checks.fail')}</button>
      </div>
      {failed && last && <p><a class="story-link" href={`#/now?subject=${encodeURIComponent(last.of)}&act=fault`}>{t('checks.fault')}</a></p>}
    </div>
  )
}

function Results({ of, subject }: { of: CheckResult[]; subject: string }): JSX.Element | null {
  if (!of.length) return null
  return (
    <div class="cb-side">
      <p><b>{t('checks.results')}</b></p>
      <ul>
        {of.map((r) => (
          <li key={r.event}>
            <a class="cb-entry" href={storyOf(r.of || subject, r.event)}>
              <span class="num quiet">{short(r.at)}</span> <b class={r.pass ? 'good' : 'bad'}>{t(r.pass ? 'checks.result.pass' : 'checks.result.fail')}</b>{r.of !== subject && <> <Words text={subjectWords(r.of)} /></>}{' '}
              <bdi>{[r.reading, r.instrument && t('checks.result.with', { x: r.instrument }), r.note].filter(Boolean).join('; ')}</bdi> <bdi class="quiet">{r.by}</bdi>
              {r.repeats && <span class="quiet"> · {t('checks.result.repeats')}</span>}
              {r.stale && <span class="warn"> · {t('checks.result.stale', { why: r.stale })}</span>}
            </a>
          </li>
        ))}
      </ul>
    </div>
  )
}
