// A photo of a label, from a camera or a file.
import { fit, type Code } from './codes'
import { byBrowser, readBy } from './look'

const LONG = 2000 // pixels of the long side that are looked at at once

// Unseen means that the file is no picture that this browser can open.
export class Unseen extends Error {}

// readPhoto finds the codes of a photo, [] if there are none. What is small on a
// large photo is looked for in its quarters.
export async function readPhoto(file: Blob): Promise<Code[]> {
  let photo: ImageBitmap
  try {
    photo = await createImageBitmap(file)
  } catch {
    throw new Unseen()
  }
  try {
    const [width, height] = fit(photo.width, photo.height, LONG)
    const whole = await cut(photo, 0, 0, photo.width, photo.height, width, height)
    const found = await byBrowser(whole).catch(() => null)
    if (found?.length) {
      whole.close()
      return found
    }
    // Turned by 0, 30 and 60 degrees, and by right angles of those in the reader.
    const codes = await readBy(whole, [0, 30, 60])
    return codes.length || width === photo.width ? codes : await quarters(photo)
  } finally {
    photo.close()
  }
}

// quarters reads the four quarters, which overlap, so that no label is cut by all.
async function quarters(photo: ImageBitmap): Promise<Code[]> {
  const [w, h] = [Math.ceil(photo.width * 0.6), Math.ceil(photo.height * 0.6)]
  const codes = new Map<string, Code>()
  for (const x of [0, photo.width - w]) {
    for (const y of [0, photo.height - h]) {
      const part = await cut(photo, x, y, w, h, ...fit(w, h, LONG))
      for (const code of await readBy(part, [0])) codes.set(code.text, code)
    }
  }
  return [...codes.values()]
}

function cut(photo: ImageBitmap, x: number, y: number, w: number, h: number, resizeWidth: number, resizeHeight: number): Promise<ImageBitmap> {
  return createImageBitmap(photo, x, y, w, h, { resizeWidth, resizeHeight, resizeQuality: 'high' })
}
