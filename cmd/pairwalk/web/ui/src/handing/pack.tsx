// The owner's pack: what it lacks first, then the file, and the signature after it.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Pictures } from '../api'
import type { Checks, Faults, Pack as Doc } from '../api_callback'
import { useLive } from '../live'
import { Signed } from '../now/acts'
import { get, request } from '../request'
import { hello } from '../state'
import { short } from '../times'
import { useAsked } from '../site/ask'
import { save, siteSlug, today } from '../site/files'
import { Problem, Some, Thinking } from '../site/pieces'
import { t, tn } from '../words'
import { sizeWords } from './size'
import '../callback/callback.css'
import './handing.css'

const counted = (key: string, n: number): string => (n ? tn(key, n) : t(`${key}.none` as 'pack.tests.none'))

export function Pack(): JSX.Element {
  const look = useAsked<Doc>('pack.look')
  const write = useAsked<string>('pack.write')
  const fetchIt = (): void => {
    void write.ask(async () => {
      const answer = await request('GET', 'handover')
      const name = `${siteSlug()}-handover-${today()}.zip`
      save(await answer.blob(), name)
      return name
    })
  }
  return (
    <div class="stack">
      <p>{t('pack.words')}</p>
      <Lacks doc={look.data} />
      <section class="card stack">
        <button type="button" class="act" disabled={write.busy} onClick={fetchIt}>{t('pack.write')}</button>
        <Thinking busy={write.busy} words={t('pack.writing')} />
        <Problem words={write.problem} />
        {write.data && <div role="status" class="stack"><p><b>{t('pack.saved', { name: write.data })}</b></p><p>{t('pack.next')}</p></div>}
        <button type="button" class="big" disabled={look.busy} onClick={() => void look.ask(() => get<Doc>('handover', { dry: 1 }))}>{t('pack.look')}</button>
        <Thinking busy={look.busy} words={t('pack.looking')} />
        <Problem words={look.problem} />
        {look.data && <Contents doc={look.data} />}
      </section>
      <Signature />
      <p class="caution">{hello.value?.permit}</p>
    </div>
  )
}

// Lacks is what the pack of now would lack, by the documents the page has anyway.
function Lacks({ doc }: { doc: Doc | null }): JSX.Element {
  const { data: checks } = useLive<Checks>('checks')
  const { data: faults } = useLive<Faults>('faults', { most: 0 })
  const { data: pictures } = useLive<Pictures>('pictures')
  if (!checks || !faults || !pictures) return <p class="quiet">{t('loading')}</p>
  const open = faults.standing ?? 0
  const away = pictures.pictures.filter((p) => p.state !== 'held').length
  const lines: [boolean, string, string][] = [
    [checks.owed > 0, counted('pack.tests', checks.owed), '#/site?part=checks'], [open > 0, counted('pack.faults', open), '#/trouble'], [away > 0, counted('pack.photos', away), '#/team'],
  ]
  return (
    <section class="card stack">
      <h3>{t('pack.lacks')}</h3>
      <ul class="hand-rooms">{lines.map(([lacks, words, to]) => <li key={words}><a class="hand-room" href={to}><b class={lacks ? 'warn' : 'good'}>{words}</b></a></li>)}</ul>
      {doc && <p class={doc.missing.asks.length ? 'warn' : 'good'}>{counted('pack.asks', doc.missing.asks.length)}</p>}
      <p class="quiet">{t('pack.still')}</p>
    </section>
  )
}

function Contents({ doc: d }: { doc: Doc }): JSX.Element {
  return (
    <>
      <p role="status"><b>{tn('pack.files', d.files.length, { size: sizeWords(d.bytes) })}</b></p>
      <Some lines={d.files.map((f) => `${f.name}, ${sizeWords(f.bytes)}`)} most={12} />
      {d.missing.asks.length > 0 && (
        <>
          <p><b>{counted('pack.asks', d.missing.asks.length)}</b></p>
          <Some lines={d.missing.asks.map((a) => (a.needed ? `${a.words} (${t('pack.needed')})` : a.words))} most={8} />
        </>
      )}
    </>
  )
}

// Signature shows who signed for the whole site, and takes the next one.
function Signature(): JSX.Element {
  const { data } = useLive<Checks>('checks')
  const [open, setOpen] = useState(false)
  const whole = (data?.signed ?? []).filter((x) => x.of === 'site:site')
  const last = whole.reduce<(typeof whole)[number] | undefined>((a, b) => (!a || Date.parse(b.at) >= Date.parse(a.at) ? b : a), undefined)
  return (
    <section class="card stack">
      <h3>{t('pack.sign')}</h3>
      <p class={last ? 'good' : 'warn'}>{last ? t('pack.signed', { words: t('checks.signed.line', { scope: last.scope, signer: last.signer, as: last.as, at: short(last.at) }) }) : t('pack.signed.none')}</p>
      {last && <p class="quiet">{tn('checks.signed.owed', last.owed)} · {tn('checks.signed.faults', last.faults.length)}</p>}
      <p>{t('pack.sign.words')}</p>
      {last && !open ? <div><button type="button" class="big" onClick={() => setOpen(true)}>{t('pack.sign.again')}</button></div> : <Signed of="site:site" scope={t('pack.sign.scope')} done={() => setOpen(false)} />}
    </section>
  )
}
