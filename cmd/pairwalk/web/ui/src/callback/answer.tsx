// What the log knows of a complaint: the silence since handover, what to ask, and
// the causes.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Explain } from '../api_callback'
import { Cautions } from '../parts/form'
import { t, tn } from '../words'
import { Words } from '../story/words'
import { CauseCard } from './cause'
import { EntryLine, storyOf } from './pieces'

const FIRST = 4 // causes, before one asks for more
const TAGS = 12

export function Answer({ doc: d }: { doc: Explain }): JSX.Element {
  const [all, setAll] = useState(false)
  const shown = all ? d.causes : d.causes.slice(0, FIRST)
  const silence = d.silence
  if (!d.devices.length) return <p id="happened-answer" class="story-note" role="status"><b><Words text={d.words} /></b></p>
  return (
    <div class="stack cb-answer" id="happened-answer">
      <section class="card stack cb-head" role="status">
        <p><b><Words text={d.nothing ? t('happened.nothing') : d.words} /></b></p>
        {d.nothing && <p class="quiet"><Words text={d.words} /></p>}
        <p><Words text={d.head} />{silence && <>{' '}<a class="story-link" href={storyOf('site:site', silence.event)}>{t('happened.handed')}</a></>}</p>
        <p class="quiet">{tn('happened.devices', d.devices.length)} <Words text={some(d.devices)} /></p>
        {d.left.length > 0 && !d.nothing && <p class="warn">{t('happened.left')} <Words text={some(d.left)} /></p>}
        <p><a class="story-link" href={`#/trouble?${new URLSearchParams({ part: 'differs', from: d.from, subject: d.subject })}`}>{t('happened.differs')}</a></p>
      </section>
      {d.notes.length > 0 && (
        <section class="stack">
          <h2>{t('happened.noted')}</h2>
          <ul class="cb-list">{d.notes.map((e) => <li key={e.event}><EntryLine subject={d.subject} {...e} /></li>)}</ul>
        </section>
      )}
      {d.ask.length > 0 && (
        <section class="stack">
          <h2>{t('happened.ask')}</h2>
          <ul class="cb-list">{d.ask.map((x) => <li key={x}><Words text={x} /></li>)}</ul>
        </section>
      )}
      {d.causes.length > 0 && (
        <section class="stack" aria-labelledby="happened-causes">
          <h2 id="happened-causes">{tn('happened.causes', d.causes.length)}</h2>
          <ol class="cb-causes">
            {shown.map((c, i) => <li key={c.kind + c.subject + c.events.join()}><CauseCard cause={c} n={i + 1} /></li>)}
          </ol>
          {shown.length < d.causes.length && <div><button type="button" class="big" onClick={() => setAll(true)}>{tn('happened.morecauses', d.causes.length - shown.length)}</button></div>}
        </section>
      )}
      <Cautions words={[d.caution]} />
    </div>
  )
}

const some = (tags: string[]): string => (tags.length > TAGS ? `${tags.slice(0, TAGS).join(', ')} … (${tags.length})` : tags.join(', '))
