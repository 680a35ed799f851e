// One cause: what it is, the entries for and against it, what would have been, what
// to check, and how to record what is found.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Cause, Evidence } from '../api_callback'
import { Cautions, nameOf } from '../parts/form'
import { t, tn, type Key } from '../words'
import { Words } from '../story/words'
import { EntryLine } from './pieces'
import { ranked, todos, unlike, type Todo } from './record'

export function CauseCard({ cause: c, n }: { cause: Cause; n: number }): JSX.Element {
  const [what, why] = ranked(c.words)
  return (
    <article class={`card stack cb-cause${n === 1 ? ' is-first' : ''}`} aria-label={what}>
      <h3><span class="cb-n num">{n}</span> <Words text={what} /></h3>
      {why && <p class="quiet"><Words text={why} /></p>}
      <Side title={t('happened.for')} of={c.for} subject={c.subject} />
      <Side title={t('happened.against')} of={c.against} subject={c.subject} against />
      {c.counterfactual && <p class="cb-without"><Words text={c.counterfactual} /></p>}
      {c.acted.length > 0 && (
        <div>
          <h4>{t('happened.acted')}</h4>
          <ul class="cb-list">{c.acted.map((x) => <li key={x}><Words text={x} /></li>)}</ul>
        </div>
      )}
      <details class="cb-more" open={n === 1}>
        <summary>{t('happened.more')}</summary>
        <div class="stack">
          <Cautions words={c.cautions} />
          <h4>{t('happened.check')}</h4>
          <ol class="cb-steps">{c.check.map((x) => <li key={x}><Words text={x} /></li>)}</ol>
          <h4>{t('happened.record')}</h4>
          <Record cause={c} />
        </div>
      </details>
    </article>
  )
}

const FIRST = 4

function Side({ title, of, subject, against }: { title: string; of: Evidence[]; subject: string; against?: boolean }): JSX.Element | null {
  const [all, setAll] = useState(false)
  if (!of.length) return null
  const shown = all ? of : of.slice(0, FIRST)
  return (
    <div class={against ? 'cb-side is-against' : 'cb-side'}>
      <h4>{title}</h4>
      <ul>{shown.map((e) => <li key={e.event}><EntryLine subject={subject} {...e} /></li>)}</ul>
      {shown.length < of.length && <button type="button" onClick={() => setAll(true)}>{tn('happened.evidence.more', of.length - shown.length)}</button>}
    </div>
  )
}

function Record({ cause: c }: { cause: Cause }): JSX.Element {
  const list = unlike(c.record.flatMap((line) => todos(line, c)))
  const ways = list.filter((x) => x.href && x.says !== 'withdraw')
  const undo = list.find((x) => x.says === 'withdraw')
  return (
    <>
      {ways.length > 0 && <div class="row">{ways.map((x) => <a key={x.href} class="button big" href={x.href}>{label(x)}</a>)}</div>}
      {list.filter((x) => !x.href).map((x) => <p key={x.line}><code class="cb-line">{x.line}</code></p>)}
      {undo && <p><a class="story-link" href={undo.href}>{t('happened.withdraw')}</a></p>}
    </>
  )
}

function label(x: Todo): JSX.Element {
  if (x.says) return <>{t(`happened.do.${x.says}` as Key)}</>
  return <>{t(`subject.act.${x.act}` as Key)}: <bdi>{nameOf(x.of ?? '')}</bdi></>
}
