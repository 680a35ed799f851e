// The log as a file, where devices cannot meet.
import type { JSX } from 'preact'
import type { Received } from '../api'
import { request, send } from '../request'
import { needSpeaker, useAsked } from '../site/ask'
import { save, siteSlug, today, whole } from '../site/files'
import { FileButton, Problem, Some, Thinking } from '../site/pieces'
import { t } from '../words'

export function Bundle(): JSX.Element {
  const out = useAsked<string>('team.bundle.out')
  const into = useAsked<Received & { admitted?: string[]; they_lack?: number; from?: string }>('team.bundle.in')
  const write = (): Promise<string | null> => out.ask(async () => {
    const name = `${siteSlug()}-${today()}.pairwalk`
    save(await (await request('GET', 'bundle')).blob(), name)
    return name
  })
  const got = into.data
  return (
    <section class="stack" aria-labelledby="team-bundle">
      <h2 id="team-bundle">{t('team.bundle')}</h2>
      <p class="quiet">{t('team.bundle.out.words')}</p>
      <div class="row"><button type="button" class="big" onClick={write}>{t('team.bundle.out')}</button></div>
      <Thinking busy={out.busy} words={t('team.bundle.writing')} />
      <Problem words={out.problem} />
      {out.data && <p role="status">{t('team.bundle.saved', { name: out.data })}</p>}
      <FileButton label={t('team.bundle.in')} hint={t('team.bundle.in.words')} onFile={(f) => void into.ask(async () => {
        needSpeaker()
        return send('bundle', await whole(f))
      })} />
      <Thinking busy={into.busy} words={t('team.bundle.reading')} />
      <Problem words={into.problem} />
      {got && (
        <div class="card stack" role="status">
          <p><b><bdi>{got.words}</bdi></b></p>
          {got.admitted?.map((n) => <p key={n}>{t('team.bundle.admitted', { name: n })}</p>)}
          {got.waiting.map((n) => <p key={n} class="warn">{t('team.bundle.waiting', { name: n })}</p>)}
          {got.conflicts.length > 0 && <><h3 class="bad">{t('team.bundle.conflicts')}</h3><Some lines={got.conflicts} most={10} /><a class="button big" href="#/trouble">{t('team.bundle.trouble')}</a></>}
          {!!got.they_lack && <p>{t('team.bundle.lack', { n: got.they_lack, from: got.from ?? '' })}</p>}
        </div>
      )}
    </section>
  )
}
