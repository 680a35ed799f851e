// The live camera.
import { signal } from '@preact/signals'
import { fit, type Code } from './codes'
import { byBrowser, readBy, warm } from './look'

const LONG = 1600 // pixels of the long side of a frame that the worker reads
const REST_MS = 80 // between two looks
const CALM_MS = 500 // nothing new for so long: the whole label was read
const DEEP = 8 // so many looks of the browser's own in vain, and the worker has one

export type Lack = 'scan.lack.context' | 'scan.lack.browser' | 'scan.lack.camera'

// lack says why there is no live camera here; null if there is one, undefined
// until it is known.
export const lack = signal<Lack | null | undefined>(undefined)

async function findLack(): Promise<Lack | null> {
  if (!isSecureContext) return 'scan.lack.context'
  if (!navigator.mediaDevices?.getUserMedia) return 'scan.lack.browser'
  const all = await navigator.mediaDevices.enumerateDevices().catch(() => [])
  return all.some((x) => x.kind === 'videoinput') ? null : 'scan.lack.camera'
}

let asked = false

// findCamera looks for a camera, once and whenever one comes or goes.
export function findCamera(): void {
  if (asked) return
  asked = true
  const look = async (): Promise<void> => { lack.value = await findLack() }
  void look()
  navigator.mediaDevices?.addEventListener?.('devicechange', look)
}

// Dark means that the camera gives no picture; its words are a key of words/scan.
export class Dark extends Error {
  constructor(readonly why: 'scan.dark.allowed' | 'scan.dark.none' | 'scan.dark.busy' | 'scan.dark.other') {
    super(why)
  }
}

// openCamera shows the camera at the back in a video. The signal stops it, also
// while the person is still being asked.
export async function openCamera(video: HTMLVideoElement, stop: AbortSignal): Promise<MediaStreamTrack> {
  warm()
  const stream = await navigator.mediaDevices
    .getUserMedia({ audio: false, video: { facingMode: { ideal: 'environment' }, width: { ideal: 1920 }, height: { ideal: 1080 } } })
    .catch((problem: unknown) => { throw new Dark(darkness(problem)) })
  const close = (): void => {
    for (const track of stream.getTracks()) track.stop()
    if (video.srcObject === stream) video.srcObject = null
  }
  if (stop.aborted) {
    close()
    throw stop.reason
  }
  stop.addEventListener('abort', close, { once: true })
  video.srcObject = stream
  await video.play().catch(() => { throw new Dark('scan.dark.other') })
  return stream.getVideoTracks()[0]!
}

function darkness(problem: unknown): Dark['why'] {
  switch (problem instanceof DOMException ? problem.name : '') {
    case 'NotAllowedError': case 'SecurityError': return 'scan.dark.allowed'
    case 'NotFoundError': case 'OverconstrainedError': return 'scan.dark.none'
    case 'NotReadableError': case 'AbortError': return 'scan.dark.busy'
    default: return 'scan.dark.other'
  }
}

// watch looks until a label was read: each of its codes twice, and nothing new for
// a moment, since a label may have several.
export async function watch(video: HTMLVideoElement, stop: AbortSignal): Promise<Code[]> {
  const seen = new Map<string, { code: Code; times: number }>()
  let fresh = 0
  for (let looks = 1; ; looks++) {
    for (const code of await look(video, looks % DEEP === 0)) {
      const before = seen.get(code.text)
      if (before) before.times++
      else seen.set(code.text, { code, times: 1 })
      if (!before || before.times === 2) fresh = performance.now()
    }
    const sure = [...seen.values()].filter((x) => x.times > 1).map((x) => x.code)
    if (sure.length && performance.now() - fresh > CALM_MS) return sure
    await rest(REST_MS)
    stop.throwIfAborted()
  }
}

async function look(video: HTMLVideoElement, deep: boolean): Promise<Code[]> {
  if (!video.videoWidth) return []
  const found = await byBrowser(video)
  if (found && (found.length || !deep)) return found
  const [resizeWidth, resizeHeight] = fit(video.videoWidth, video.videoHeight, LONG)
  return readBy(await createImageBitmap(video, { resizeWidth, resizeHeight }), [0])
}

const rest = (ms: number): Promise<void> => new Promise((done) => setTimeout(done, ms))

interface TorchTrack { getCapabilities?: () => { torch?: boolean }; applyConstraints: (c: object) => Promise<void> }

// hasTorch says whether the camera has a lamp that can be lit.
export const hasTorch = (track: MediaStreamTrack): boolean => !!(track as unknown as TorchTrack).getCapabilities?.().torch

export function light(track: MediaStreamTrack, on: boolean): Promise<void> {
  return (track as unknown as TorchTrack).applyConstraints({ advanced: [{ torch: on }] })
}
