// The live camera, in a panel. It runs only while it is looked at.
import type { JSX } from 'preact'
import { useEffect, useRef, useState } from 'preact/hooks'
import { Panel } from '../parts/form'
import { t } from '../words'
import type { Code } from './codes'
import { Blind } from './look'
import { Dark, hasTorch, light, openCamera, watch } from './watch'
import './scan.css'

// Camera looks until its codes give something; onCodes says, in words, why they
// don't, and null if they do.
export function Camera({ onCodes, onClose }: { onCodes: (codes: Code[]) => Promise<Words[] | null>; onClose: () => void }): JSX.Element {
  const video = useRef<HTMLVideoElement>(null)
  const [round, setRound] = useState(0)
  const [words, setWords] = useState<Words[]>([])
  const [busy, setBusy] = useState(false)
  const [track, setTrack] = useState<MediaStreamTrack | null>(null)
  const [lit, setLit] = useState(false)
  const stopped = words.length > 0

  useEffect(() => {
    const stop = new AbortController()
    const end = (why: Words[]): void => {
      if (stop.signal.aborted) return
      stop.abort()
      setTrack(null)
      setBusy(false)
      setWords(why)
    }
    const hidden = (): void => { if (document.visibilityState === 'hidden') end([{ text: t('scan.hidden') }]) }
    document.addEventListener('visibilitychange', hidden)
    const run = async (): Promise<void> => {
      try {
        const got = await openCamera(video.current!, stop.signal)
        got.addEventListener('ended', () => end([{ text: t('scan.dark.busy') }]))
        if (hasTorch(got)) {
          setTrack(got)
          if (lit) await light(got, true).catch(() => setLit(false))
        }
        const codes = await watch(video.current!, stop.signal)
        video.current!.pause()
        setBusy(true)
        const why = await onCodes(codes)
        if (why) end(why)
      } catch (problem) {
        end([{ text: t(problem instanceof Dark || problem instanceof Blind ? problem.why : 'scan.dark.other') }])
      }
    }
    void run()
    return () => {
      document.removeEventListener('visibilitychange', hidden)
      stop.abort()
    }
  }, [round])

  const again = (): void => { setWords([]); setRound(round + 1) }
  const torch = async (): Promise<void> => {
    if (track) await light(track, !lit).then(() => setLit(!lit), () => setTrack(null))
  }
  return (
    <Panel title={t('scan.camera.title')} onClose={onClose}>
      <div class="stack">
        <video ref={video} class="scan-video" muted playsInline hidden={stopped} aria-label={t('scan.picture')} />
        <div role="status" class="stack">
          {stopped
            ? words.map((w) => <p key={w.text} class={w.english ? 'scan-theirs' : undefined} lang={w.english ? 'en' : undefined}>{w.text}</p>)
            : <p>{t(busy ? 'scan.reading' : 'scan.aim')}</p>}
        </div>
        <div class="scan-ways">
          {stopped && <button type="button" class="act" onClick={again}>{t('scan.again')}</button>}
          {track && !stopped && <button type="button" class="big" aria-pressed={lit} onClick={torch}>{t('scan.torch')}</button>}
          <button type="button" class="big" onClick={onClose}>{t('scan.leave')}</button>
        </div>
      </div>
    </Panel>
  )
}

// Words are for a person; the process's are English whatever the page is in.
export interface Words { text: string; english?: boolean }
