// Is this device well? Asked by a button, since looking reads every line and
// picture, and writes a small file to see what that takes.
import type { JSX } from 'preact'
import type { Doctor, Finding } from '../api'
import { get } from '../request'
import { t, tn } from '../words'
import { useAsked } from './ask'
import { AskedAt, Problem, Thinking } from './pieces'

export function Device(): JSX.Element {
  const looked = useAsked<Doctor>('site.device')
  const found = looked.data?.findings ?? []
  const of = (state: Finding['state']): Finding[] => found.filter((f) => f.state === state)
  return (
    <div class="stack">
      <p>{t('site.device.words')}</p>
      <button type="button" class="act" onClick={() => { if (!looked.busy) void looked.ask(() => get<Doctor>('doctor')) }}>{t('site.device.ask')}</button>
      <Thinking busy={looked.busy} words={t('site.device.looking')} />
      <Problem words={looked.problem} />
      {looked.data && (
        <div class="stack" role="status">
          <p class={looked.data.state === 'well' ? 'good' : undefined}><b>{t(`site.device.${looked.data.state}`)}</b></p>
          <AskedAt at={looked.at} stale={looked.stale} />
          <Findings of={[...of('wrong'), ...of('look')]} />
          {of('well').length > 0 && (
            <details class="site-more">
              <summary>{tn('site.device.fine', of('well').length)}</summary>
              <Findings of={of('well')} />
            </details>
          )}
        </div>
      )}
    </div>
  )
}

function Findings({ of }: { of: Finding[] }): JSX.Element {
  return (
    <ul class="site-lines">
      {of.map((f, i) => (
        <li key={i} class={f.state === 'wrong' ? 'site-bad' : undefined}>
          <b>{t(`site.device.area.${f.area}`)}</b> <bdi>{f.words}</bdi>
          {f.do && <p><bdi>{f.do}</bdi></p>}
          {f.run && <p><code>{f.run}</code></p>}
        </li>
      ))}
    </ul>
  )
}
