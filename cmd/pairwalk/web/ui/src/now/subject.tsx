// Everything that can be recorded about one subject.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Subject } from '../api'
import { useLive } from '../live'
import { useNames } from '../names'
import { record } from '../outbox'
import { Cautions, Choice, Field, nameOf, Panel } from '../parts/form'
import { Mark } from '../parts/mark'
import { hello } from '../state'
import { t, type Key } from '../words'
import * as act from './acts'

type Act = (p: act.ActProps) => JSX.Element

const ofDevice: [string, Act][] = [
  ['paired', act.Pair], ['refused', act.Refuse], ['skipped', act.Skip], ['fitted', act.Fit], ['heard', act.Answers], ['fault', act.Fault],
  ['note', act.Note], ['photo', act.Photo], ['check', act.Test], ['replaced', act.Replace], ['unpaired', act.Unpair],
  ['off', act.PowerOff], ['on', act.PowerOn], ['hold', act.HoldIt], ['lift', act.LiftIt],
]
const ofHub: [string, Act][] = [
  ['ready', act.Ready], ['pushed', act.Push], ['pushfailed', act.PushFailed], ['loaded', act.Loaded], ['channel', act.Channel], ['lost', act.Lost],
  ['fault', act.Fault], ['note', act.Note], ['photo', act.Photo], ['hold', act.HoldIt], ['lift', act.LiftIt], ['signed', act.Signed],
]
const ofCircuit: [string, Act][] = [['off', act.PowerOff], ['on', act.PowerOn], ['hold', act.HoldIt], ['lift', act.LiftIt], ['fault', act.Fault], ['note', act.Note], ['photo', act.Photo]]
const ofPlace: [string, Act][] = [['check', act.Test], ['fault', act.Fault], ['note', act.Note], ['photo', act.Photo], ['hold', act.HoldIt], ['lift', act.LiftIt], ['signed', act.Signed]]

function actsOf(subject: string): [string, Act][] {
  switch (subject.split(':')[0]) {
    case 'device': return ofDevice
    case 'hub': return ofHub
    case 'circuit': return ofCircuit
    default: return ofPlace
  }
}

// About opens with an act chosen where the address names one.
export function About({ subject, act: first = '', onClose }: { subject: string; act?: string; onClose: () => void }): JSX.Element {
  const { data, problem } = useLive<Subject>('show', { subject })
  const [what, setWhat] = useState(first)
  const of = data?.subject ?? subject
  const acts = actsOf(of)
  const Form = acts.find(([name]) => name === what)?.[1]
  const d = data?.device
  return (
    <Panel title={t('subject.title', { of: nameOf(of) })} onClose={onClose}>
      <div class="stack">
        {d && <p class="row"><Mark kind={d.kind} state={d.state} /> <span>{d.kind}</span> <bdi>{d.room}</bdi> <bdi>{d.serial}</bdi></p>}
        {d?.emergency && <Cautions words={[hello.value!.cautions.emergency]} />}
        {problem && <Unknown subject={subject} problem={problem} />}
        {data && <Choice label={t('subject.what')} options={acts.map(([name]) => name)} value={what} onPick={setWhat} words={(x) => t(`subject.act.${x}` as Key)} />}
        {Form && <Form key={what} of={of} device={d} done={onClose} />}
      </div>
    </Panel>
  )
}

// Unknown lists a device that somebody found in the field.
function Unknown({ subject, problem }: { subject: string; problem: string }): JSX.Element {
  const tag = nameOf(subject)
  const [kind, setKind] = useState('')
  const { hubs } = useNames()
  const [chosen, setHub] = useState('')
  const hub = chosen || (hubs[0] ?? '')
  const list = (): void => {
    const body = { device: tag, is: kind, hub, radio: 'mesh', power: kind === 'sensor' || kind === 'wall-control' ? 'battery' : 'mains', note: 'found in the field' }
    record([{ kind: 'device.listed', body }], t('say.listed', { tag })).catch(() => undefined)
  }
  return (
    <div class="stack">
      <p class="bad">{problem}</p>
      <h3>{t('subject.unknown', { of: tag })}</h3>
      <p>{t('subject.unknown.words')}</p>
      <Choice label={t('subject.unknown.kind')} options={hello.value!.kinds} value={kind} onPick={setKind} words={(x) => x} />
      <Field label={t('subject.unknown.hub')} value={hub} list={hubs} onInput={setHub} />
      <button type="button" class="act" onClick={() => { if (kind && hub) list() }}>{t('subject.unknown.list')}</button>
    </div>
  )
}
