// A photo of a plan made small enough to keep: it goes to every colleague.

export const MOST = 2400 // px of the longer side

export interface Shot { blob: Blob; url: string; wide: number; high: number }

// shrink turns the picture upright, as its camera noted, and makes a JPEG of it.
export async function shrink(file: Blob): Promise<Shot> {
  const image = await createImageBitmap(file, { imageOrientation: 'from-image' })
  const k = Math.min(1, MOST / Math.max(image.width, image.height))
  const canvas = document.createElement('canvas')
  canvas.width = Math.round(image.width * k)
  canvas.height = Math.round(image.height * k)
  const ctx = canvas.getContext('2d')!
  ctx.fillStyle = '#fff'
  ctx.fillRect(0, 0, canvas.width, canvas.height)
  ctx.drawImage(image, 0, 0, canvas.width, canvas.height)
  image.close()
  const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, 'image/jpeg', 0.82))
  if (!blob) throw new Error('no picture')
  return { blob, url: URL.createObjectURL(blob), wide: canvas.width, high: canvas.height }
}
