// Taking a sheet in: what it would change is looked at first.
import type { JSX } from 'preact'
import { useRef, useState } from 'preact/hooks'
import type { Import } from '../api'
import { Field, Speaker } from '../parts/form'
import { send } from '../request'
import { t, tn } from '../words'
import { needSpeaker, useAsked } from './ask'
import { whole } from './files'
import { Diff, Taken } from './diff'
import { ImportHelp } from './importhelp'
import { FileButton, Onlooker, Problem, Thinking, Tick } from './pieces'

interface Chosen { name: string; bytes: Blob }
let chosen: Chosen | null = null // survives a look at another part

interface Query { name: string; table: string; day: string }
interface Looked { doc: Import; query: Query } // what was seen, and how it was asked for

export function Importing(): JSX.Element {
  const [file, setFile] = useState(chosen)
  const [table, setTable] = useState('')
  const [day, setDay] = useState('')
  const [renames, setRenames] = useState(false)
  const [strikes, setStrikes] = useState(false)
  const dry = useAsked<Looked>('site.import.dry')
  const done = useAsked<Import>('site.import.done')
  const busy = useRef(false)
  const book = /\.xls[xm]$/i.test(file?.name ?? '')

  const see = async (f: Chosen, query: Query): Promise<Looked> => {
    needSpeaker()
    return { doc: await send<Import>('import', f.bytes, { ...query, dry: 1 }), query }
  }
  const look = (of: string): void => {
    if (!file) return
    setTable(of)
    done.forget()
    void dry.ask(() => see(file, { name: file.name, table: book ? of.trim() : '', day }))
  }
  const choose = async (f: File): Promise<void> => {
    setTable('')
    setRenames(false)
    setStrikes(false)
    done.forget()
    dry.forget()
    await dry.ask(async () => {
      chosen = { name: f.name, bytes: await whole(f) }
      setFile(chosen)
      return see(chosen, { name: f.name, table: '', day })
    })
  }
  // take takes what was looked at, also where the fields have been changed since.
  const take = async (partial: boolean): Promise<void> => {
    if (!file || !dry.data || busy.current) return
    busy.current = true
    const { query } = dry.data
    const got = await done.ask(async () => {
      needSpeaker()
      return send<Import>('import', file.bytes, { ...query, partial, renames, strikes })
    })
    busy.current = false
    if (got) dry.forget()
  }
  const doc = dry.problem ? null : (dry.data?.doc ?? null)
  const timed = doc?.kind === 'field sheet'
  return (
    <div class="stack">
      <p>{t('site.import.words')}</p>
      <Onlooker />
      <Speaker />
      <FileButton label={t('site.import.file')} accept=".csv,.txt,.tsv,.xlsx,.xlsm,text/csv" hint={t('site.import.hint')} onFile={(f) => void choose(f)} />
      <ImportHelp />
      {file && (doc || dry.problem || dry.busy) && (
        <section class="stack" aria-label={t('site.import.look')}>
          <h3>{t('site.import.of')} <bdi>{file.name}</bdi></h3>
          {(book || timed || dry.problem) && <form class="site-pair" onSubmit={(e) => { e.preventDefault(); look(table) }}>
            {book && <Field label={t('site.import.table')} value={table} onInput={setTable} hint={t('site.import.table.hint')} />}
            {timed && <Field label={t('site.import.day')} type="date" value={day} onInput={setDay} hint={t('site.import.day.hint')} />}
            <button type="submit" class="big">{t('site.import.again')}</button>
          </form>}
          <Thinking busy={dry.busy} words={t('site.import.reading')} />
          <Problem words={dry.problem} />
          {doc && book && <OtherTables notes={doc.notes} look={look} />}
          {doc && <Diff doc={doc} />}
          {doc && !dry.busy && <Take doc={doc} busy={done.busy} problem={done.problem} take={take} renames={renames} strikes={strikes} setRenames={setRenames} setStrikes={setStrikes} />}
        </section>
      )}
      {done.data && <Taken doc={done.data} name={file?.name ?? ''} />}
    </div>
  )
}

// OtherTables are the workbook's sheets that the notes name beside the one taken.
function OtherTables({ notes, look }: { notes: string[]; look: (table: string) => void }): JSX.Element | null {
  const names = notes.flatMap((n) => /^sheet "(.+)" is not taken, and is an? /.exec(n)?.slice(1, 2) ?? [])
  if (!names.length) return null
  return <div class="row">{names.map((n) => <button key={n} type="button" class="big" onClick={() => look(n)}>{t('site.import.other', { name: n })}</button>)}</div>
}

interface TakeProps {
  doc: Import; busy: boolean; problem: string; take: (partial: boolean) => void
  renames: boolean; strikes: boolean; setRenames: (on: boolean) => void; setStrikes: (on: boolean) => void
}

// Take offers what may be done with a sheet that has been looked at.
function Take({ doc, busy, problem, take, renames, strikes, setRenames, setStrikes }: TakeProps): JSX.Element {
  const bad = doc.problems.length
  const suggested = doc.lines.filter((l) => l.startsWith('rename?')).length
  const fields = doc.kind === 'field sheet'
  const rows = doc.rows ?? 0
  const sure = fields ? rows : doc.adds + doc.amends + doc.entries + doc.renames - suggested
  const maybe = suggested + doc.strikes
  const agreed = (renames && suggested > 0) || (strikes && doc.strikes > 0)
  const nothing = sure + maybe === 0
  return (
    <div class="stack">
      {suggested > 0 && <Tick on={renames} onChange={setRenames}>{tn('site.import.renames', suggested)}</Tick>}
      {doc.strikes > 0 && <Tick on={strikes} onChange={setStrikes}>{tn('site.import.strikes', doc.strikes)}</Tick>}
      {doc.strikes > doc.same && <p class="warn">{t('site.import.part')}</p>}
      {fields && rows > 0 && <p class="warn">{t('site.import.twice')}</p>}
      {nothing || (sure === 0 && !agreed)
        ? <p><b>{t(!nothing ? 'site.import.ticknone' : bad && !doc.same ? 'site.import.nogood' : 'site.import.nochange')}</b></p>
        : <button type="button" class="act" onClick={() => take(bad > 0)}>{bad ? tn('site.import.partial', bad) : t('site.import.take')}</button>}
      {bad > 0 && <p class="quiet">{t('site.import.mend')}</p>}
      <Thinking busy={busy} words={t('site.import.writing')} />
      <Problem words={problem} />
    </div>
  )
}
