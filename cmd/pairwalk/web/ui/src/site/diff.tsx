// What a sheet would change, and what it has changed.
import type { JSX } from 'preact'
import { has, t, tn, type Key } from '../words'
import type { Import } from '../api'
import { Some } from './pieces'

// The order and the signs of changes; the process begins each line with its kind.
const CHANGES = [
  ['add', '+', /^add: /],
  ['amend', '±', /^amend: /],
  ['rename', '→', /^rename\??:? /],
  ['strike', '−', /^strike\?? /],
  ['log', '•', /^log: /],
] as const

export function Diff({ doc }: { doc: Import }): JSX.Element {
  const kind = `site.kind.${doc.kind}`
  const counts = [['add', doc.adds], ['amend', doc.amends], ['rename', doc.renames], ['strike', doc.strikes], ['log', doc.entries], ['same', doc.same]] as const
  return (
    <div class="stack site-diff">
      <p>
        <b>{has(kind) ? t(kind as Key) : <bdi>{doc.kind}</bdi>}</b>
        {doc.table && <> · {t('site.import.table')} <bdi>{doc.table}</bdi></>}
        {doc.rows !== undefined && <> · {tn('site.rows', doc.rows)}</>}
        {doc.problems.length > 0 && <> · <b class="bad">{tn('site.badrows', doc.problems.length)}</b></>}
      </p>
      {doc.kind !== 'field sheet' && <dl class="site-counts">{counts.map(([name, n]) => <div key={name} class={n ? '' : 'quiet'}><dt>{t(`site.change.${name}`)}</dt><dd class="num">{n}</dd></div>)}</dl>}
      {doc.problems.length > 0 && (
        <section class="site-bad">
          <h4>{t('site.problems')}</h4>
          <Some lines={doc.problems} />
        </section>
      )}
      {doc.notes.map((n) => <p key={n} class="site-note"><bdi>{n}</bdi></p>)}
      {CHANGES.map(([name, sign, begins]) => {
        const lines = doc.lines.filter((l) => begins.test(l))
        if (!lines.length) return null
        return (
          <section key={name}>
            <h4><span aria-hidden="true" class="site-sign">{sign}</span> {t(`site.change.${name}`)} <span class="num quiet">{lines.length}</span></h4>
            <Some lines={lines.map((l) => (l.includes('?') && l.indexOf('?') < 8 ? l : l.replace(begins, '')))} />
          </section>
        )
      })}
      {doc.lines.filter((l) => !CHANGES.some(([, , begins]) => begins.test(l)) && !/^(problem: |\d+ the same$)/.test(l)).map((l) => <p key={l} class="quiet"><bdi>{l}</bdi></p>)}
    </div>
  )
}

export function Taken({ doc, name }: { doc: Import; name: string }): JSX.Element {
  return (
    <section class="card stack site-taken" role="status">
      <h3>{tn('site.taken', doc.taken)}</h3>
      <p><bdi>{name}</bdi></p>
      {doc.problems.length > 0 && <><p class="warn"><b>{tn('site.left', doc.problems.length)}</b></p><Some lines={doc.problems} most={20} /></>}
      {doc.flagged.length > 0 && <><p class="warn"><b>{t('site.flagged')}</b></p><Some lines={doc.flagged} most={20} /></>}
      <div class="row">
        <a class="button big" href="#/story">{t('site.to.story')}</a>
        <a class="button big" href="#/plan">{t('site.to.plan')}</a>
      </div>
    </section>
  )
}
