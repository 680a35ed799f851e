// The settle clocks: when each hub may be pushed, why not yet, and whom to ask.
// A clock runs from the time the process gave, so sleep and reload do it no harm;
// when it has run out the process is asked again, for only it may say "push may go".
import type { JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import type { Logged, Now, Settle } from '../api'
import { said } from '../outbox'
import { Cautions, Field, Panel, Speaker, speakerReady } from '../parts/form'
import { post, Refused } from '../request'
import { hello, now } from '../state'
import { useWakeLock } from '../scan/wake'
import { clock, clockSeconds, left, short } from '../times'
import { t, type Key } from '../words'
import { Push } from './acts'

export function Clocks({ doc, again }: { doc: Now; again: () => void }): JSX.Element | null {
  const [all, setAll] = useState(doc.mine.length === 0)
  const shown = doc.settle.filter((s) => all || doc.mine.includes(s.hub))
  const waiting = shown.some(waits)
  useWakeLock(waiting)
  const round = waiting ? Math.floor(now.value / 20000) : 0 // the words of the reasons count down too
  useEffect(() => { if (round) again() }, [round])
  if (!doc.settle.length) return null
  return (
    <section class="now-clocks">
      <header class="row">
        <h2>{t('now.clocks')}</h2>
        {doc.mine.length > 0 && <button type="button" class="plain" onClick={() => setAll(!all)}>{t(all ? 'now.clocks.mine' : 'now.clocks.all')}</button>}
      </header>
      <ul>{shown.map((s) => <HubClock key={s.hub} settle={s} program={doc.hubs.find((h) => h.id === s.hub)?.program ?? ''} again={again} />)}</ul>
    </section>
  )
}

// waits says whether a wait is still to end; also where something else stands in the
// way besides.
const waits = (s: Settle): boolean => s.at !== ''

const signs: Record<Settle['verdict'], string> = { ready: 'M4 13 L10 19 L21 5', wait: 'M12 3 A9 9 0 1 1 11.9 3 M12 7 V12 L16 14', ask: 'M8 9 A4 4 0 1 1 12 13 V15 M12 19 V20', blocked: 'M4 12 H20', nothing: 'M6 12 H7 M12 12 H13 M18 12 H19' }

function HubClock({ settle: s, program, again }: { settle: Settle; program: string; again: () => void }): JSX.Element {
  const [open, setOpen] = useState<'' | 'push' | string>('')
  const over = waits(s) && Date.parse(s.at) <= now.value
  useEffect(() => { if (over) again() }, [over, now.value >> 13])
  const words = s.verdict === 'wait' ? t('verdict.wait', { at: clockSeconds(s.at) }) : t(s.verdict === 'ready' ? 'verdict.ready.long' : (`verdict.${s.verdict}` as Key))
  return (
    <li class={`card now-clock verdict-${s.verdict}`}>
      <div class="now-clock-head">
        <svg class="glyph" viewBox="0 0 24 24" aria-hidden="true"><path d={signs[s.verdict]} /></svg>
        <h3><bdi>{s.hub}</bdi></h3>
        <p class="now-verdict">{words}</p>
        {waits(s) && <p class="now-left num" role="timer" aria-label={t('now.left')}>{over ? t('now.over') : left(s.at)}</p>}
      </div>
      {s.reasons.filter((r) => s.verdict !== 'ask' || r.kind !== 'unheard').map((r) => <p key={r.words} class="quiet"><bdi>{r.words}</bdi></p>)}
      {s.ask.length > 0 && (
        <ul class="stack">
          {s.ask.map((a) => (
            <li key={a.member} class="now-ask">
              <span><bdi>{a.member}</bdi>: {a.since ? t('now.ask.since', { at: short(a.since) }) : t('now.ask.never')}</span>
              <button type="button" class="big" onClick={() => setOpen(a.member)}>{t('act.ask')}</button>
            </li>
          ))}
        </ul>
      )}
      {s.verdict === 'ready' && (
        <>
          <Cautions words={[hello.value!.cautions.push]} />
          <button type="button" class="act" onClick={() => setOpen('push')}>{t('act.push')} …</button>
        </>
      )}
      {s.heard.length > 0 && <p class="quiet">{t('now.heard', { list: s.heard.map((h) => `${h.member} ${clock(h.through)}`).join(', ') })}</p>}
      {open === 'push' && <Panel title={`${t('act.push')} ${s.hub}`} onClose={() => setOpen('')}><Push of={`hub:${s.hub}`} program={program} done={() => setOpen('')} /></Panel>}
      {open && open !== 'push' && <Panel title={t('now.ask.title', { member: open, hub: s.hub })} onClose={() => setOpen('')}><Ask member={open} hub={s.hub} done={() => setOpen('')} /></Panel>}
    </li>
  )
}

// Ask takes down what a colleague said by voice.
export function Ask({ member, hub, done }: { member: string; hub: string; done: () => void }): JSX.Element {
  const [last, setLast] = useState('')
  const [problem, setProblem] = useState('')
  const tell = (what: string): void => {
    if (!speakerReady()) return
    post<Logged>('asked', { member, hub, last: what }).then(
      (logged) => { said.value = { words: t('say.asked', { member, hub }), logged, at: Date.now() }; done() },
      (e: unknown) => setProblem(e instanceof Refused ? e.message : t('strip.away')),
    )
  }
  return (
    <div class="stack">
      <p class="now-question">“{t('now.ask.question', { hub })}”</p>
      <Speaker />
      <button type="button" class="act" onClick={() => tell('none')}>{t('now.ask.none')}</button>
      <form class="stack" onSubmit={(e) => { e.preventDefault(); if (last) tell(last) }}>
        <Field label={t('now.ask.time')} hint={t('when.hint')} value={last} onInput={setLast} />
        <button type="submit" class="big">{t('now.ask.record')}</button>
      </form>
      {problem && <p role="alert" class="bad">{problem}</p>}
    </div>
  )
}
