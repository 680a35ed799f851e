// The functional checks: what each room owes, and recording what came of it.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Checks as Doc, CheckRoom } from '../api_callback'
import { useLive } from '../live'
import { natural } from '../names'
import { Choice } from '../parts/form'
import { hello, route } from '../state'
import { Words } from '../story/words'
import { short } from '../times'
import { t, tn } from '../words'
import { Problem } from '../site/pieces'
import { Room } from './room'
import '../callback/callback.css'
import './handing.css'

export function Checks(): JSX.Element {
  const { data: d, problem } = useLive<Doc>('checks')
  const [show, setShow] = useState<'owed' | 'all'>('owed')
  const room = route.value.query.get('room')
  if (!d) return problem ? <Problem words={problem} /> : <p class="quiet">{t('loading')}</p>
  const one = room === null ? undefined : d.rooms.find((r) => r.room === room)
  if (one) return <Room key={one.room} room={one} groups={d.groups} />
  const rooms = d.rooms.filter((r) => show === 'all' || r.owed > 0 || r.unknown)
  const floors = [...new Set(rooms.map((r) => r.floor))]
  return (
    <div class="stack cb">
      <p role="status"><b>{d.owed ? tn('checks.owed', d.owed) : t('checks.passed.all')}</b></p>
      <Choice label={t('checks.show')} options={['owed', 'all'] as const} value={show} onPick={setShow} words={(x) => t(`checks.show.${x}`)} />
      {floors.map((f) => (
        <section key={f} class="stack">
          <h3>{f ? t('checks.floor', { floor: f }) : t('checks.floor.none')}</h3>
          <ul class="hand-rooms">{rooms.filter((r) => r.floor === f).sort((a, b) => natural(a.room, b.room)).map((r) => <li key={r.room}><RoomDoor room={r} /></li>)}</ul>
        </section>
      ))}
      {d.groups.length > 0 && <Sample doc={d} />}
      <Signed doc={d} />
      {d.remarks.length > 0 && (
        <section class="stack">
          <h3>{t('checks.remarks')}</h3>
          <ul class="cb-list">{d.remarks.map((x) => <li key={x}><Words text={x} /></li>)}</ul>
        </section>
      )}
      <p class="caution">{hello.value?.permit}</p>
    </div>
  )
}

function RoomDoor({ room: r }: { room: CheckRoom }): JSX.Element {
  const failed = r.tests.filter((x) => x.state === 'failed').length
  return (
    <a class="hand-room" href={`#/site?${new URLSearchParams({ part: 'checks', room: r.room })}`}>
      <b><bdi>{r.room || t('checks.noroom')}</bdi></b>{' '}
      <span class={r.owed ? 'warn' : 'good'}>{r.owed ? tn('checks.room.owed', r.owed) : r.unknown ? t('checks.room.unknown') : t('checks.room.done')}</span>{' '}
      {failed > 0 && <span class="bad">{tn('checks.room.failed', failed)}</span>}
    </a>
  )
}

function Sample({ doc: d }: { doc: Doc }): JSX.Element {
  return (
    <details class="site-more">
      <summary>{t('checks.sample')}</summary>
      <div class="stack">
        <p class="quiet"><bdi>{d.rule.source}</bdi></p>
        <ul class="cb-list">
          {d.groups.map((g) => (
            <li key={g.test + g.type + g.geometry}>
              <p><Words text={t('checks.sample.words', { n: g.devices.length, type: g.type || t('checks.notknown'), geometry: g.geometry || t('checks.notknown'), words: g.words })} /></p>
              <p>{t('checks.sample.drawn')} <Words text={g.drawn.join(', ')} /></p>
              {g.failed > 0 && <p class="bad">{t('checks.sample.failed')} <Words text={g.failed_devices.join(', ')} /></p>}
              {g.widened && <p class="warn">{t('checks.sample.widened')}</p>}
            </li>
          ))}
        </ul>
      </div>
    </details>
  )
}

function Signed({ doc: d }: { doc: Doc }): JSX.Element | null {
  if (!d.signed.length) return null
  return (
    <section class="stack">
      <h3>{t('checks.signed')}</h3>
      <ul class="cb-list">
        {d.signed.map((x) => (
          <li key={x.event}>
            <p><Words text={t('checks.signed.line', { scope: x.scope, signer: x.signer, as: x.as, at: short(x.at) })} /></p>
            <p class="quiet">{tn('checks.signed.owed', x.owed)} · {tn('checks.signed.faults', x.faults.length)}</p>
          </li>
        ))}
      </ul>
    </section>
  )
}
