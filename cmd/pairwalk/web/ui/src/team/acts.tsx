// What a lead, and who is on the site, can do about a member.
import type { JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import type { Hub, Logged, Story } from '../api'
import { said } from '../outbox'
import { Choice, Field, Panel, Speaker } from '../parts/form'
import { get, post } from '../request'
import { needSpeaker, problemWords } from '../site/ask'
import { Problem, Thinking } from '../site/pieces'
import { short } from '../times'
import { t } from '../words'
import type { Member } from './holds'

export interface Doing { act: 'admit' | 'revoke' | 'assign'; member: Member }

// tell does what the page asks of the process, and says in the shell what came of
// it. What cannot be taken back is not offered to be.
async function tell(path: string, body: unknown, words: string, undo: boolean): Promise<void> {
  const logged = await post<Logged>(path, body)
  said.value = { words, logged: undo ? logged : { ...logged, entries: [] }, at: Date.now() }
}

function useTell(onDone: () => void): { busy: boolean; problem: string; run: (f: () => Promise<void>) => Promise<void> } {
  const [busy, setBusy] = useState(false)
  const [problem, setProblem] = useState('')
  const run = async (f: () => Promise<void>): Promise<void> => {
    if (busy) return
    setBusy(true)
    setProblem('')
    try {
      needSpeaker()
      await f()
      onDone()
    } catch (error) {
      setProblem(problemWords(error))
      setBusy(false)
    }
  }
  return { busy, problem, run }
}

export function ActPanel({ doing, hubs, onClose }: { doing: Doing; hubs: Hub[]; onClose: () => void }): JSX.Element {
  const { act, member } = doing
  const title = t(`team.${act}.title`, { name: member.name })
  return (
    <Panel title={title} onClose={onClose}>
      {act === 'admit' && <Admit m={member} onClose={onClose} />}
      {act === 'revoke' && <Revoke m={member} onClose={onClose} />}
      {act === 'assign' && <Assign m={member} hubs={hubs} onClose={onClose} />}
    </Panel>
  )
}

function Admit({ m, onClose }: { m: Member; onClose: () => void }): JSX.Element {
  const { busy, problem, run } = useTell(onClose)
  return (
    <form class="stack" onSubmit={(e) => { e.preventDefault(); void run(() => tell('admit', { member: m.key }, t('team.admit.done', { name: m.name }), false)) }}>
      <p>{t('team.admit.words')}</p>
      {m.why && <p class="warn"><bdi>{m.why}</bdi></p>}
      <p>{t('team.key')}: <code>{m.key}</code></p>
      <Speaker />
      <Problem words={problem} />
      <button type="submit" class="act">{t('team.admit')}</button>
      <Thinking busy={busy} words={t('site.thinking')} />
    </form>
  )
}

function Revoke({ m, onClose }: { m: Member; onClose: () => void }): JSX.Element {
  const { busy, problem, run } = useTell(onClose)
  const [why, setWhy] = useState('')
  const [sheet, setSheet] = useState('') // never kept: it is the key to the site
  const [last, setLast] = useState('')
  const lead = m.role === 'lead'
  const send = (): Promise<void> => run(async () => {
    if (!why.trim()) throw new Error(t('team.revoke.need'))
    if (lead && !sheet.trim()) throw new Error(t('team.sheet.need'))
    await tell('revoke', { member: m.key, why: why.trim(), last, sheet: sheet.trim() }, t('team.revoke.done', { name: m.name }), false)
  })
  return (
    <form class="stack" onSubmit={(e) => { e.preventDefault(); void send() }}>
      <p>{t('team.revoke.words')}</p>
      <p class="warn"><b>{t('team.revoke.final')}</b></p>
      <Field label={t('why')} value={why} onInput={setWhy} hint={t('team.revoke.why')} required autofocus />
      <Last m={m} value={last} onPick={setLast} />
      {lead && <Sheet words={t('team.revoke.sheet')} value={sheet} onInput={setSheet} />}
      <Speaker />
      <Problem words={problem} />
      <button type="submit" class="act">{t('team.revoke.do')}</button>
      <Thinking busy={busy} words={t('site.thinking')} />
    </form>
  )
}

const OFFERED = 200 // of their entries, the latest first

// Last asks which entry is the last of theirs, where somebody else has had their device.
function Last({ m, value, onPick }: { m: Member; value: string; onPick: (ref: string) => void }): JSX.Element | null {
  const [said, setSaid] = useState<Story['entries']>([])
  useEffect(() => void get<Story>('story', { member: m.name, limit: OFFERED }).then((s) => setSaid(s.entries), () => setSaid([])), [m.name])
  if (!said.length) return null
  return (
    <div class="field">
      <label for="revoke-last">{t('team.revoke.last')}</label>
      <select id="revoke-last" value={value} onChange={(e) => onPick(e.currentTarget.value)}>
        <option value="">{t('team.revoke.last.all')}</option>
        {said.map((e) => <option key={e.ref} value={e.ref}>{short(e.at)} {e.words}</option>)}
      </select>
    </div>
  )
}

// Sheet asks for the recovery sheet's words.
export function Sheet({ words, value, onInput }: { words: string; value: string; onInput: (v: string) => void }): JSX.Element {
  return <Field label={t('team.sheet')} value={value} onInput={onInput} lines={3} hint={words} />
}

function Assign({ m, hubs, onClose }: { m: Member; hubs: Hub[]; onClose: () => void }): JSX.Element {
  const { busy, problem, run } = useTell(onClose)
  const on = hubs.filter((h) => h.assigned?.includes(m.name)).map((h) => h.id)
  const [hub, setHub] = useState('')
  const ended = on.includes(hub)
  const send = (): Promise<void> => run(async () => {
    if (!hub) throw new Error(t('team.assign.need'))
    await tell('assign', { hub, member: m.key, ended }, t(ended ? 'team.assign.ended' : 'team.assign.done', { name: m.name, hub }), true)
  })
  return (
    <form class="stack" onSubmit={(e) => { e.preventDefault(); void send() }}>
      <p>{t('team.assign.words')}</p>
      {hubs.length
        ? <Choice label={t('team.assign.hub')} options={hubs.map((h) => h.id)} value={hub} onPick={setHub} words={(h) => (on.includes(h) ? t('team.assign.on', { hub: h }) : h)} />
        : <p class="warn">{t('team.assign.nohub')}</p>}
      <Speaker />
      <Problem words={problem} />
      {hub && <button type="submit" class="act">{t(ended ? 'team.assign.end' : 'team.assign.put', { name: m.name, hub })}</button>}
      <Thinking busy={busy} words={t('site.thinking')} />
    </form>
  )
}
