// Reads codes in a worker of its own, so that the page stays quick. Its WebAssembly
// comes from where the page comes from: locateFile is given before anything is read,
// and takes the place of the library's own, which would ask a network.
import { prepareZXingModule, readBarcodes, type ReaderOptions } from 'zxing-wasm/reader'
import type { Answered, Asked, Code } from './codes'

const port = self as unknown as {
  onmessage: ((e: MessageEvent<Asked>) => void) | null
  postMessage: (said: Answered) => void
}

const options: ReaderOptions = {
  formats: ['QRCode', 'MicroQRCode', 'RMQRCode', 'DataMatrix', 'Aztec', 'Code128', 'Code39', 'Code93', 'ITF14', 'EAN13', 'EAN8', 'UPCA'],
  tryHarder: true,
  tryRotate: true,
  tryInvert: true,
  tryDownscale: true,
  maxNumberOfSymbols: 16,
  textMode: 'Plain', // with the separators of GS1 as they are
}
const PRODUCTS = ['EAN13', 'EAN8', 'UPCA', 'ITF14']

const ready = prepareZXingModule({
  overrides: { locateFile: () => `/reader.wasm${self.location.search}` },
  fireImmediately: true,
})
ready.catch((problem: unknown) => port.postMessage({ broken: wordsOf(problem) }))

port.onmessage = async ({ data: { id, picture, turns } }) => {
  try {
    await ready
    let codes: Code[] = []
    for (const turn of turns) {
      codes = await read(pixels(picture, turn))
      if (codes.length) break
    }
    port.postMessage({ id, codes })
  } catch (problem) {
    port.postMessage({ id, problem: wordsOf(problem) })
  } finally {
    picture.close()
  }
}

async function read(pixels: ImageData): Promise<Code[]> {
  const found = await readBarcodes(pixels, options)
  return found
    .filter((x) => x.isValid && x.text !== '')
    .map((x) => ({ text: x.text, gs1: x.contentType === 'GS1', product: PRODUCTS.includes(x.format) }))
}

// pixels draws the picture turned by so many degrees, whole and on white, and no
// longer than it was: more pixels take longer than they are worth.
function pixels(picture: ImageBitmap, turn: number): ImageData {
  const { width, height } = picture
  const [sin, cos] = [Math.sin((turn * Math.PI) / 180), Math.cos((turn * Math.PI) / 180)]
  const span = [width * Math.abs(cos) + height * Math.abs(sin), width * Math.abs(sin) + height * Math.abs(cos)]
  const by = Math.min(1, Math.max(width, height) / Math.max(...span))
  const [wide, high] = [Math.ceil(span[0]! * by), Math.ceil(span[1]! * by)]
  const on = new OffscreenCanvas(wide, high).getContext('2d', { willReadFrequently: true })!
  on.fillStyle = '#fff'
  on.fillRect(0, 0, wide, high)
  on.translate(wide / 2, high / 2)
  on.rotate((turn * Math.PI) / 180)
  on.scale(by, by)
  on.drawImage(picture, -width / 2, -height / 2)
  return on.getImageData(0, 0, wide, high)
}

const wordsOf = (problem: unknown): string => (problem instanceof Error ? problem.name : 'unknown')
