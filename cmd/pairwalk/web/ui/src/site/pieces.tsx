// Pieces that several parts of the site and the team share.
import type { ComponentChildren, JSX } from 'preact'
import { useId, useRef, useState } from 'preact/hooks'
import { hello } from '../state'
import { clock } from '../times'
import { t, tn } from '../words'

// Thinking says that an answer is on its way; a screen reader is told too.
export function Thinking({ busy, words }: { busy: boolean; words: string }): JSX.Element {
  return (
    <p class={busy ? 'site-thinking' : 'site-thinking-none'} role="status">
      {busy && <><svg viewBox="0 0 60 12" aria-hidden="true"><rect class="track" x="1" y="1" width="58" height="10" /><rect class="run" x="1" y="1" width="18" height="10" /></svg>{words}</>}
    </p>
  )
}

export function Problem({ words }: { words: string }): JSX.Element | null {
  return words ? <p class="site-problem" role="alert"><b>{t('site.problem')}</b> <bdi>{words}</bdi></p> : null
}

// AskedAt says when an answer was asked for, and that the log has grown since.
export function AskedAt({ at, stale }: { at: number; stale: boolean }): JSX.Element {
  return <p class={stale ? 'warn' : 'quiet'}>{t(stale ? 'site.asked.stale' : 'site.asked', { at: clock(at) })}</p>
}

// Tick is a big box to tick, with its words.
export function Tick({ on, onChange, children }: { on: boolean; onChange: (on: boolean) => void; children: ComponentChildren }): JSX.Element {
  return (
    <label class="site-tick">
      <input type="checkbox" checked={on} onChange={(e) => onChange(e.currentTarget.checked)} />
      <span>{children}</span>
    </label>
  )
}

// FileButton chooses a file; the same file may be chosen again.
export function FileButton({ label, accept, hint, onFile }: { label: string; accept?: string; hint?: string; onFile: (f: File) => void }): JSX.Element {
  const id = useId()
  return (
    <div class="field site-file">
      <label for={id}>{label}</label>
      <input id={id} type="file" accept={accept} aria-describedby={hint ? `${id}-hint` : undefined}
        onChange={(e) => { const f = e.currentTarget.files?.[0]; e.currentTarget.value = ''; if (f) onFile(f) }} />
      {hint && <small id={`${id}-hint`}>{hint}</small>}
    </div>
  )
}

// Some shows the first of many lines, and the rest when asked.
export function Some({ lines, most = 50, ordered, cls }: { lines: string[]; most?: number; ordered?: boolean; cls?: string }): JSX.Element {
  const [all, setAll] = useState(false)
  const shown = all ? lines : lines.slice(0, most)
  const List = ordered ? 'ol' : 'ul'
  return (
    <>
      <List class={cls ?? 'site-lines'}>{shown.map((x, i) => <li key={i}><bdi>{x}</bdi></li>)}</List>
      {shown.length < lines.length && <button type="button" onClick={() => setAll(true)}>{tn('site.showall', lines.length)}</button>}
    </>
  )
}

// Copy is a text to take elsewhere. Where the browser lends no clipboard, the text
// is selected, for the keyboard to copy.
export function Copy({ text, label, lines = 1 }: { text: string; label: string; lines?: number }): JSX.Element {
  const box = useRef<HTMLTextAreaElement>(null)
  const [done, setDone] = useState('')
  const id = useId()
  const copy = async (): Promise<void> => {
    box.current?.select()
    try {
      await navigator.clipboard.writeText(text)
      setDone(t('site.copied'))
    } catch {
      setDone(document.execCommand('copy') ? t('site.copied') : t('site.copy.self'))
    }
  }
  return (
    <div class="field site-copy">
      <label for={id}>{label}</label>
      <textarea id={id} ref={box} readOnly rows={lines} value={text} onFocus={(e) => e.currentTarget.select()} />
      <div class="row"><button type="button" class="big" onClick={copy}>{t('site.copy')}</button><span role="status">{done}</span></div>
    </div>
  )
}

// Onlooker says where this device's role keeps it from recording.
export function Onlooker(): JSX.Element | null {
  return isOnlooker() ? <p class="site-note">{t('site.onlooker')}</p> : null
}

export const isOnlooker = (): boolean => hello.value?.me.role === 'viewer' || hello.value?.me.role === 'relay'

export const isLead = (): boolean => hello.value?.me.role === 'lead'
