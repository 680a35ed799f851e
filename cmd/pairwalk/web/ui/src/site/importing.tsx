// Taking a sheet in: what it would change is looked at first.
import type { JSX } from 'preact'
import { useRef, useState } from 'preact/hooks'
import type { Import } from '../api'
import { Field, Speaker, speakerReady } from '../parts/form'
import { send } from '../request'
import { t, tn } from '../words'
import { useAsked } from './ask'
import { whole } from './files'
import { Diff, Taken } from './diff'
import { ImportHelp } from './importhelp'
import { FileButton, Onlooker, Problem, Thinking, Tick } from './pieces'

export type Imported = Import & { rows?: number }

interface Chosen { name: string; bytes: Blob }
let chosen: Chosen | null = null // survives a look at another part

export function Importing(): JSX.Element {
  const [file, setFile] = useState(chosen)
  const [table, setTable] = useState('')
  const [day, setDay] = useState('')
  const [renames, setRenames] = useState(false)
  const [strikes, setStrikes] = useState(false)
  const dry = useAsked<Imported>('site.import.dry')
  const done = useAsked<Imported>('site.import.done')
  const busy = useRef(false)
  const book = /\.xls[xm]$/i.test(file?.name ?? '')
  const query = { name: file?.name, table: book ? table.trim() : '', day }

  const look = (f: Chosen, over: Partial<typeof query> = {}): void => {
    done.forget()
    void dry.ask(() => send<Imported>('import', f.bytes, { ...query, name: f.name, ...over, dry: 1 }))
  }
  const choose = async (f: File): Promise<void> => {
    setTable('')
    setRenames(false)
    setStrikes(false)
    dry.forget()
    await dry.ask(async () => {
      chosen = { name: f.name, bytes: await whole(f) }
      setFile(chosen)
      done.forget()
      return send<Imported>('import', chosen.bytes, { name: f.name, day, dry: 1 })
    })
  }
  const take = async (partial: boolean): Promise<void> => {
    if (!file || busy.current || !speakerReady()) return
    busy.current = true
    const got = await done.ask(() => send<Imported>('import', file.bytes, { ...query, partial, renames, strikes }))
    busy.current = false
    if (got) dry.forget()
  }
  const doc = dry.data
  return (
    <div class="stack">
      <p>{t('site.import.words')}</p>
      <Onlooker />
      <FileButton label={t('site.import.file')} accept=".csv,.txt,.tsv,.xlsx,.xlsm,text/csv" hint={t('site.import.hint')} onFile={(f) => void choose(f)} />
      <ImportHelp />
      {file && (doc || dry.problem || dry.busy) && (
        <section class="stack" aria-label={t('site.import.look')}>
          <h3>{t('site.import.of')} <bdi>{file.name}</bdi></h3>
          <form class="site-pair" onSubmit={(e) => { e.preventDefault(); look(file) }}>
            {book && <Field label={t('site.import.table')} value={table} onInput={setTable} hint={t('site.import.table.hint')} />}
            <Field label={t('site.import.day')} type="date" value={day} onInput={setDay} hint={t('site.import.day.hint')} />
            <button type="submit" class="big">{t('site.import.again')}</button>
          </form>
          <Thinking busy={dry.busy} words={t('site.import.reading')} />
          <Problem words={dry.problem} />
          {doc && <Diff doc={doc} />}
          {doc && !dry.busy && <Take doc={doc} busy={done.busy} take={take} renames={renames} strikes={strikes} setRenames={setRenames} setStrikes={setStrikes} />}
        </section>
      )}
      <Problem words={done.problem} />
      {done.data && <Taken doc={done.data} name={file?.name ?? ''} />}
    </div>
  )
}

interface TakeProps {
  doc: Imported; busy: boolean; take: (partial: boolean) => void
  renames: boolean; strikes: boolean; setRenames: (on: boolean) => void; setStrikes: (on: boolean) => void
}

// Take offers what may be done with a sheet that has been looked at.
function Take({ doc, busy, take, renames, strikes, setRenames, setStrikes }: TakeProps): JSX.Element {
  const bad = doc.problems.length
  const suggested = doc.lines.filter((l) => l.startsWith('rename?')).length
  const fields = doc.kind === 'field sheet'
  const rows = doc.rows ?? 0
  const nothing = fields ? rows === 0 : doc.adds + doc.amends + doc.entries + doc.renames + doc.strikes === 0
  return (
    <div class="stack">
      {suggested > 0 && <Tick on={renames} onChange={setRenames}>{tn('site.import.renames', suggested)}</Tick>}
      {doc.strikes > 0 && <Tick on={strikes} onChange={setStrikes}>{tn('site.import.strikes', doc.strikes)}</Tick>}
      {fields && rows > 0 && <p class="warn">{t('site.import.twice')}</p>}
      <Speaker />
      {nothing
        ? <p><b>{t(bad ? 'site.import.nogood' : 'site.import.nochange')}</b></p>
        : <button type="button" class="act" onClick={() => take(bad > 0)}>{bad ? tn('site.import.partial', bad) : t('site.import.take')}</button>}
      {bad > 0 && <p class="quiet">{t('site.import.mend')}</p>}
      <Thinking busy={busy} words={t('site.import.writing')} />
    </div>
  )
}
