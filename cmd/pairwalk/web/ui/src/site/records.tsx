// Records home: the field's pairings to the office, and back again as merged.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Homecoming, Logged } from '../api'
import { useNames } from '../names'
import { said } from '../outbox'
import { Choice, Field, Speaker, useDraft } from '../parts/form'
import { post, request, send } from '../request'
import { t, tn } from '../words'
import { needSpeaker, useAsked } from './ask'
import { save, siteSlug, whole } from './files'
import { FileButton, isOnlooker, Onlooker, Problem, Thinking } from './pieces'

interface Out { id: string; rows: number; name: string }

export function Records(): JSX.Element {
  const [last, setLast] = useDraft('records.export', '')
  return (
    <div class="stack">
      <p>{t('site.records.words')}</p>
      <Onlooker />
      <Speaker />
      <OutStep onOut={setLast} />
      <BackStep onExport={setLast} />
      <MergedStep export={last} setExport={setLast} />
    </div>
  )
}

function OutStep({ onOut }: { onOut: (id: string) => void }): JSX.Element {
  const out = useAsked<Out>('site.records.out')
  const write = async (as: 'csv' | 'xlsx'): Promise<void> => {
    if (out.busy) return
    const got = await out.ask(async () => {
      needSpeaker()
      const answer = await request('POST', `records?as=${as}`)
      const id = answer.headers.get('X-Pairwalk-Export') ?? ''
      const name = `${siteSlug()}-records-${id}.${as}`
      save(await answer.blob(), name)
      return { id, rows: Number(answer.headers.get('X-Pairwalk-Rows') ?? 0), name }
    })
    if (got) onOut(got.id)
  }
  return (
    <section class="card stack site-step">
      <h3>{t('site.records.out.title')}</h3>
      <p>{t('site.records.out.words')}</p>
      <button type="button" class="act" onClick={() => void write('xlsx')}>{t('site.records.out.xlsx')}</button>
      <button type="button" onClick={() => void write('csv')}>{t('site.records.out.csv')}</button>
      <Thinking busy={out.busy} words={t('site.records.writing')} />
      <Problem words={out.problem} />
      {out.data && (
        <div role="status" class="stack">
          <p><b>{tn('site.records.rows', out.data.rows, { name: out.data.name })}</b></p>
          <p>{t('site.records.export')} <code class="site-export">{out.data.id}</code></p>
          <p class={isOnlooker() ? 'warn' : undefined}>{t(isOnlooker() ? 'site.records.uncounted' : 'site.records.next')}</p>
        </div>
      )}
    </section>
  )
}

function BackStep({ onExport }: { onExport: (id: string) => void }): JSX.Element {
  const back = useAsked<Homecoming>('site.records.back')
  const read = async (f: File): Promise<void> => {
    const home = await back.ask(async () => {
      needSpeaker()
      return send<Homecoming>('homecoming', await whole(f))
    })
    if (home?.export) onExport(home.export)
  }
  const home = back.data
  return (
    <section class="card stack site-step">
      <h3>{t('site.records.back.title')}</h3>
      <p>{t('site.records.back.words')}</p>
      <FileButton label={t('site.records.back')} accept=".csv,.txt,.tsv,.xlsx,.xlsm,text/csv" onFile={(f) => void read(f)} />
      <Thinking busy={back.busy} words={t('site.records.reading')} />
      <Problem words={back.problem} />
      {home && (
        <div role="status" class="stack">
          <p class={home.differences.length ? '' : 'good'}><b>{tn('site.records.same', home.same)}</b></p>
          {home.export ? <p>{t('site.records.export')} <code class="site-export">{home.export}</code></p> : <p class="warn">{t('site.records.noexport')}</p>}
          {home.differences.length > 0 && <Differences home={home} />}
        </div>
      )}
    </section>
  )
}

function Differences({ home }: { home: Homecoming }): JSX.Element {
  const [all, setAll] = useState(false)
  const shown = all ? home.differences : home.differences.slice(0, 20)
  return (
    <>
      <h4 class="warn">{tn('site.records.differ', home.differences.length)}</h4>
      <ul class="site-lines site-differences">
        {shown.map((d, i) => (
          <li key={i}>
            <a class="site-link" href={`#/story?subject=${encodeURIComponent(`device:${d.tag}`)}`}><b><bdi>{d.tag}</bdi></b> <bdi>{d.words}</bdi>{d.row > 0 && <small class="num"> {t('site.records.row', { n: d.row })}</small>}</a>
          </li>
        ))}
      </ul>
      {shown.length < home.differences.length && <button type="button" onClick={() => setAll(true)}>{tn('site.showall', home.differences.length)}</button>}
      <p>{t('site.records.settle')}</p>
    </>
  )
}

function MergedStep({ export: id, setExport }: { export: string; setExport: (id: string) => void }): JSX.Element {
  const merged = useAsked<Logged>('site.records.merged')
  const [hub, setHub] = useDraft('records.hub', '')
  const hubs = useNames().hubs
  const log = async (): Promise<void> => {
    if (merged.busy) return
    const logged = await merged.ask(async () => {
      needSpeaker()
      return post<Logged>('merged', { export: id.trim(), hub })
    })
    if (!logged) return
    const words = hub ? t('site.records.merged.hub', { id: id.trim() || t('site.records.last'), hub }) : t('site.records.merged.all', { id: id.trim() || t('site.records.last') })
    said.value = { words, logged, at: Date.now() }
  }
  return (
    <form class="card stack site-step" onSubmit={(e) => { e.preventDefault(); void log() }}>
      <h3>{t('site.records.merged.title')}</h3>
      <p>{t('site.records.merged.words')}</p>
      <Field label={t('site.records.export.field')} value={id} onInput={setExport} hint={t('site.records.export.hint')} />
      <Choice label={t('site.records.for')} options={['', ...hubs]} value={hub} onPick={setHub} words={(h) => h || t('site.records.allhubs')} />
      <Problem words={merged.problem} />
      <button type="submit" class="act">{t('site.records.merged')}</button>
      <Thinking busy={merged.busy} words={t('site.thinking')} />
    </form>
  )
}
