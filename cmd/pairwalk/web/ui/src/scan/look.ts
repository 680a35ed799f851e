// Looks for codes in a picture: with the browser's own detector where there is a
// whole one, else in the worker, which is started when first needed and then kept.
import type { Answered, Asked, Code } from './codes'

// Blind means that nothing could be read, whatever is on the picture; its words
// are a key of words/scan.
export class Blind extends Error {
  constructor(readonly why: 'scan.blind.load' | 'scan.blind.slow' | 'scan.blind.read') {
    super(why)
  }
}

const LOAD_MS = 30_000 // a megabyte, over a poor network and on a slow phone
const READ_MS = 10_000 // a picture, turned one way

interface Waiting { done: (codes: Code[]) => void; fail: (why: Blind) => void; timer: number }

let worker: Worker | undefined
let warmed = false // it has answered once
let last = 0
const waiting = new Map<number, Waiting>()

// warm starts the worker, so that it is there when the picture is.
export function warm(): void {
  if (worker) return
  const digest = document.querySelector<HTMLMetaElement>('meta[name=pairwalk-page]')?.content ?? ''
  try {
    worker = new Worker(`/reader.js?${digest}`, { type: 'module' })
  } catch {
    return // said when a picture is to be read
  }
  worker.onerror = () => drop('scan.blind.load')
  worker.onmessage = ({ data }: MessageEvent<Answered>) => {
    if ('broken' in data) return drop('scan.blind.load')
    const asked = waiting.get(data.id)
    if (!asked) return
    warmed = true
    waiting.delete(data.id)
    clearTimeout(asked.timer)
    if ('codes' in data) asked.done(data.codes)
    else asked.fail(new Blind('scan.blind.read'))
  }
}

// drop ends a worker that doesn't answer; the next picture starts another.
function drop(why: Blind['why']): void {
  worker?.terminate()
  worker = undefined
  warmed = false
  for (const { fail, timer } of waiting.values()) {
    clearTimeout(timer)
    fail(new Blind(why))
  }
  waiting.clear()
}

// readBy asks the worker. The picture is given away.
export function readBy(picture: ImageBitmap, turns: number[]): Promise<Code[]> {
  warm()
  const reader = worker
  if (!reader) {
    picture.close()
    return Promise.reject(new Blind('scan.blind.load'))
  }
  return new Promise((done, fail) => {
    const id = ++last
    const timer = window.setTimeout(() => drop(warmed ? 'scan.blind.slow' : 'scan.blind.load'), warmed ? READ_MS * turns.length : LOAD_MS)
    waiting.set(id, { done, fail, timer })
    reader.postMessage({ id, picture, turns } satisfies Asked, [picture])
  })
}

interface Detector { detect(picture: ImageBitmapSource): Promise<{ rawValue: string; format: string }[]> }
interface DetectorClass { new (options: { formats: string[] }): Detector; getSupportedFormats(): Promise<string[]> }

const NEEDED = ['qr_code', 'data_matrix', 'code_128', 'code_39', 'ean_13']
const WANTED = [...NEEDED, 'code_93', 'ean_8', 'upc_a', 'aztec']
const PRODUCTS = ['ean_13', 'ean_8', 'upc_a']

let own: Promise<Detector | null> | undefined

// ownDetector is the browser's, if it reads all that labels are printed with.
function ownDetector(): Promise<Detector | null> {
  own ??= (async () => {
    const Own = (globalThis as unknown as { BarcodeDetector?: DetectorClass }).BarcodeDetector
    if (!Own) return null
    const can = await Own.getSupportedFormats()
    if (!NEEDED.every((x) => can.includes(x))) return null
    return new Own({ formats: WANTED.filter((x) => can.includes(x)) })
  })().catch(() => null)
  return own
}

// byBrowser reads with the browser's own detector: null where there is none.
export async function byBrowser(picture: ImageBitmapSource): Promise<Code[] | null> {
  const detector = await ownDetector()
  if (!detector) return null
  try {
    const found = await detector.detect(picture)
    return found
      .filter((x) => x.rawValue !== '')
      .map((x) => ({ text: x.rawValue, gs1: false, product: PRODUCTS.includes(x.format) }))
  } catch {
    own = Promise.resolve(null) // it is there and doesn't work, as on some desktops
    return null
  }
}
