// The site's settings: what stands, in what unit, and what it is for.
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import type { Logged, Settings as Doc } from '../api'
import { useLive } from '../live'
import { said } from '../outbox'
import { Field, Speaker } from '../parts/form'
import { post } from '../request'
import { has, t, tn, type Key } from '../words'
import { needSpeaker, problemWords } from './ask'
import { isLead, Problem, Thinking, Tick } from './pieces'

type Setting = Doc['settings'][number] & { default?: string }

// Families are settings that belong together; the rest come last.
const FAMILIES: [name: 'push' | 'clock' | 'radio' | 'walk' | 'checks', keys: RegExp][] = [
  ['push', /^(settle|heard|asked|active)_/],
  ['clock', /^(when_|clock_)/],
  ['walk', /^(pair_|push_|ready_|check_|walk_|stairs_|room_)/],
  ['checks', /^(sample_|off_within_|auto_on_|override_|egress_)/],
  ['radio', /./],
]
const familyOf = (key: string): string => FAMILIES.find(([, keys]) => keys.test(key))![0]

export function Settings(): JSX.Element {
  const { data, problem, again } = useLive<Doc>('settings')
  const [only, setOnly] = useState(false)
  if (!data) return problem ? <Problem words={problem} /> : <p class="quiet">{t('loading')}</p>
  const set = data.settings.filter((s) => s.set).length
  const shown = data.settings.filter((s) => s.set || !only)
  return (
    <div class="stack">
      <p>{t('site.settings.words')}</p>
      {!isLead() && <p class="site-note">{t('site.settings.lead')}</p>}
      <p><b>{set ? tn('site.settings.set', set) : t('site.settings.none')}</b></p>
      {set > 0 && <Tick on={only} onChange={setOnly}>{t('site.settings.only')}</Tick>}
      <Problem words={problem} />
      {(['push', 'clock', 'walk', 'checks', 'radio'] as const).map((family) => {
        const those = shown.filter((s) => familyOf(s.key) === family)
        if (!those.length) return null
        return (
          <section key={family}>
            <h3>{t(`site.family.${family}`)}</h3>
            <ul class="site-settings">{those.map((s) => <Row key={s.key} s={s} again={again} />)}</ul>
          </section>
        )
      })}
    </div>
  )
}

const SCALED: Record<string, string> = { cdB: 'dB', cdBm: 'dBm', cdBi: 'dBi', cfc: 'fc' }

// valueWords is a value with its unit, hundredths of a decibel or a
// foot-candle as whole ones too.
export function valueWords(value: string, unit: string): string {
  if (value === '') return t('site.settings.empty')
  const plain = unit ? `${value} ${unit}` : value
  const n = Number(value)
  return SCALED[unit] && Number.isFinite(n) ? `${(n / 100).toFixed(unit === 'cfc' ? 2 : 1)} ${SCALED[unit]} (${plain})` : plain
}

function Row({ s, again }: { s: Setting; again: () => void }): JSX.Element {
  const [open, setOpen] = useState(false)
  const name = `site.setting.${s.key}`
  return (
    <li class={s.set ? 'site-setting is-set' : 'site-setting'}>
      <div class="site-setting-head">
        <div>
          <h4>{has(name) ? t(name as Key) : s.key}</h4>
          <small><code>{s.key}</code></small>
        </div>
        <p class="site-value">
          <b class="num"><bdi>{valueWords(s.value, s.unit)}</bdi></b>
          <small>{s.set ? <>◆ {t('site.settings.here')}</> : t('site.settings.default')}</small>
        </p>
      </div>
      <p class="quiet"><bdi>{s.doc}</bdi></p>
      {s.set && s.default !== undefined && <p class="quiet">{t('site.settings.was', { value: valueWords(s.default, s.unit) })}</p>}
      {isLead() && <button type="button" class="site-setting-change" aria-expanded={open} onClick={() => setOpen(!open)}>{t(open ? 'cancel' : 'site.settings.change')}<span class="hidden"> {s.key}</span></button>}
      {open && <Change s={s} onDone={() => { setOpen(false); again() }} />}
    </li>
  )
}

function Change({ s, onDone }: { s: Setting; onDone: () => void }): JSX.Element {
  const [value, setValue] = useState(s.value)
  const [busy, setBusy] = useState(false)
  const [problem, setProblem] = useState('')
  const send = async (to: string): Promise<void> => {
    if (busy) return
    setBusy(true)
    setProblem('')
    try {
      needSpeaker()
      const logged = await post<Logged>('set', { key: s.key, value: to.trim() })
      said.value = { words: t('site.settings.done', { key: s.key, value: valueWords(to.trim(), s.unit) }), logged, at: Date.now() }
      onDone()
    } catch (error) {
      setProblem(problemWords(error))
      setBusy(false)
    }
  }
  return (
    <form class="stack" onSubmit={(e) => { e.preventDefault(); void send(value) }}>
      <Field label={t('site.settings.new', { unit: s.unit || t('site.settings.nounit') })} value={value} onInput={setValue} autofocus />
      <Speaker />
      <Problem words={problem} />
      <div class="row">
        <button type="submit" class="act">{t('site.settings.set')}</button>
        {s.set && s.default !== undefined && <button type="button" class="big" onClick={() => send(s.default!)}>{t('site.settings.back', { value: valueWords(s.default, s.unit) })}</button>}
      </div>
      <Thinking busy={busy} words={t('site.thinking')} />
    </form>
  )
}
