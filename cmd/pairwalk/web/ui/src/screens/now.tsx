// Now: my next useful act, the push moments, and what waits for somebody.
import type { JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import type { Device, Now as NowDoc, Step } from '../api'
import { useLive } from '../live'
import { everything, memberName, suggest, useNames } from '../names'
import { Cautions, Field, nameOf } from '../parts/form'
import { Mark } from '../parts/mark'
import { About } from '../now/subject'
import * as act from '../now/acts'
import { Ask, Clocks } from '../now/clocks'
import { go, hello, route, type Screen } from '../state'
import { t } from '../words'
import './now.css'

// keyOf tells one suggestion from another while the list is asked for anew.
const keyOf = (s: Step): string => `${s.act} ${s.subject} ${s.hub ?? ''}`

export function Now(): JSX.Element {
  const { data, problem, again } = useLive<NowDoc>('now')
  const [chosen, setChosen] = useState('') // stays, whatever else happens on the site, until it is done
  const [done, setDone] = useState('') // the last one that was, until the list has caught up
  const subject = route.value.query.get('subject')
  const steps = data?.steps ?? []
  const first = steps.find((s) => keyOf(s) === chosen) ?? steps.find((s) => keyOf(s) !== done) ?? steps[0]
  useEffect(() => { if (first) setChosen(keyOf(first)) }, [first && keyOf(first)])
  const finish = (step: Step): void => {
    setDone(keyOf(step))
    setChosen('')
  }
  return (
    <div class="now">
      <h1 class="hidden">{t('now.title')}</h1>
      {problem && <p role="alert" class="bad">{problem}</p>}
      {!data && !problem && <p class="quiet">{t('loading')}</p>}
      {data && (
        <div class="now-columns">
          <div class="stack">
            {first ? <Card key={keyOf(first)} step={first} doc={data} done={() => finish(first)} /> : <p class="card">{t('now.nothing')}</p>}
            <Then steps={steps.filter((s) => s !== first)} doc={data} choose={(s) => setChosen(keyOf(s))} />
          </div>
          <div class="stack">
            <Clocks doc={data} again={again} />
            <Needs doc={data} />
            <Other />
          </div>
        </div>
      )}
      {subject && <About key={`${subject} ${route.value.query.get('act') ?? ''}`} subject={subject} act={route.value.query.get('act') ?? ''} onClose={() => go('now', {}, true)} />}
    </div>
  )
}

// called is what a suggestion is about, as people call it.
function called(s: Step): string {
  const name = nameOf(s.subject)
  return s.subject.startsWith('member:') ? memberName(name) : name
}

// Card is the first useful act, with everything it takes to record it.
function Card({ step, doc, done }: { step: Step; doc: NowDoc; done: () => void }): JSX.Element {
  const device = doc.devices[nameOf(step.subject)]
  return (
    <section class="card now-card" aria-labelledby="now-first">
      <p class="now-kicker">{t('now.first')}</p>
      <h2 id="now-first" class="now-act">{act.word('act', step.act)} <bdi>{called(step)}</bdi></h2>
      {device && <Where device={device} how={step.how} />}
      <p class="now-reason"><bdi>{step.why}</bdi></p>
      <Cautions words={(step.cautions ?? []).filter((w) => !saysItself(step.act).includes(w))} />
      <Act step={step} device={device} doc={doc} done={done} />
    </section>
  )
}

// saysItself lists the cautions that an act's own form shows.
function saysItself(name: string): string[] {
  const { push, power, hold } = hello.value!.cautions
  return { push: [push], power: [power], 'lift-hold': [hold] }[name] ?? []
}

function Where({ device: d, how }: { device: Device; how?: string }): JSX.Element {
  return (
    <p class="row now-where">
      <Mark kind={d.kind} state={d.state} label={false} />
      <span>{d.kind}</span>
      {(d.floor || d.room) && <bdi>{[d.floor, d.room].filter(Boolean).join(' · ')}</bdi>}
      <span>{t('now.hub', { hub: d.hub })}</span>
      {how && <b>{act.word('how', how)}</b>}
      {d.emergency && <b class="warn">{t('emergency')}</b>}
    </p>
  )
}

// Act is the form for a suggested act. What is settled elsewhere leads there.
function Act({ step, device, doc, done }: { step: Step; device?: Device; doc: NowDoc; done: () => void }): JSX.Element | null {
  const props: act.ActProps = { of: step.subject, device, how: step.how, done }
  switch (step.act) {
    case 'pair': return <act.Pair {...props} />
    case 'read-serial': return <act.Fit {...props} />
    case 'check': return step.subject.startsWith('device:') ? <act.Answers {...props} /> : <act.Test {...props} />
    case 'lift-hold': return <act.LiftIt {...props} />
    case 'power': return <act.PowerOn {...props} />
    case 'ready-hub': return <act.Ready {...props} />
    case 'push': return <act.Push {...props} program={doc.hubs.find((h) => h.id === step.hub)?.program ?? ''} />
    case 'ask': return <AskAbout step={step} doc={doc} done={done} />
    case 'resolve': return <Lead to="trouble" words={t('now.open.trouble')} />
    case 'mend': return <Lead to="trouble" words={t('now.open.trouble')} />
    case 'export': return <Lead to="site" query={{ part: 'records' }} words={t('now.open.site')} />
    case 'merge': return <Lead to="site" query={{ part: 'records' }} words={t('now.open.site')} />
    default: return null
  }
}

function Lead({ to, words, query = {} }: { to: Screen; words: string; query?: Record<string, string> }): JSX.Element {
  return <button type="button" class="act" onClick={() => go(to, query)}>{words}</button>
}

function AskAbout({ step, doc, done }: { step: Step; doc: NowDoc; done: () => void }): JSX.Element | null {
  const judged = doc.settle.find((s) => s.hub === step.hub)
  const who = judged?.ask[0]
  return who ? <Ask member={who.member} hub={judged.hub} done={done} /> : <Lead to="team" words={t('now.open.team')} />
}

function Then({ steps, doc, choose }: { steps: Step[]; doc: NowDoc; choose: (s: Step) => void }): JSX.Element | null {
  const [all, setAll] = useState(false)
  if (!steps.length) return null
  const shown = all ? steps : steps.slice(0, 5)
  return (
    <section>
      <h2>{t('now.then')}</h2>
      <ol class="now-then">
        {shown.map((s) => {
          const d = doc.devices[nameOf(s.subject)]
          return (
            <li key={keyOf(s)}>
              <button type="button" onClick={() => choose(s)}>
                {d && <Mark kind={d.kind} state={d.state} label={false} />}
                <span><b>{act.word('act', s.act)} <bdi>{called(s)}</bdi></b> <small><bdi>{d ? [d.floor, d.room].filter(Boolean).join(' · ') : s.why}</bdi></small><span class="hidden">, {t('now.choose')}</span></span>
              </button>
            </li>
          )
        })}
      </ol>
      {!all && steps.length > shown.length && <button type="button" class="plain" onClick={() => setAll(true)}>{t('now.more', { n: steps.length - shown.length + doc.more })}</button>}
      {all && doc.more > 0 && <p class="quiet">{t('now.more', { n: doc.more })}</p>}
    </section>
  )
}

function Needs({ doc }: { doc: NowDoc }): JSX.Element | null {
  const [all, setAll] = useState(false)
  if (!doc.needs.length) return null
  const shown = all ? doc.needs : doc.needs.slice(0, 3)
  return (
    <section>
      <h2>{t('now.needs')} ({doc.needs.length})</h2>
      <ul class="now-needs">
        {shown.map((n, i) => <li key={i}><a class="button" href={`#/${n.screen}${n.subject && n.screen === 'trouble' ? `?subject=${encodeURIComponent(n.subject)}` : ''}`}><bdi>{n.words}</bdi></a></li>)}
      </ul>
      {shown.length < doc.needs.length && <button type="button" class="plain" onClick={() => setAll(true)}>{t('now.more', { n: doc.needs.length - shown.length })}</button>}
    </section>
  )
}

// Other records about anything, suggested or not.
function Other(): JSX.Element {
  const names = useNames()
  const [text, setText] = useState('')
  const near = text ? suggest(text, everything(names)) : []
  return (
    <form class="card stack" onSubmit={(e) => { e.preventDefault(); if (text.trim()) go('now', { subject: text.trim() }) }}>
      <h2>{t('now.other')}</h2>
      <Field label={t('now.other.field')} value={text} list={near} onInput={setText} />
      <button type="submit" class="big">{t('now.other.go')}</button>
    </form>
  )
}
