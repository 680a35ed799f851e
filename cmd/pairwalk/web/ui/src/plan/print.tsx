// Printing: the sheets are made when they are asked for, and are gone afterwards.
import { render } from 'preact'
import type { Layout } from '../api'
import { request } from '../request'
import { day, clock } from '../times'
import { asked, reel, shownAt } from './desk'
import { floorOf, floorsOf } from './floor'
import { Paper, type PaperProps } from './paper'

export async function printFloors(layout: Layout, courseOf: ReadonlyMap<string, number>): Promise<void> {
  const r = reel.value
  if (!r) return
  const floors = floorsOf(layout).map((id) => floorOf(layout, id, courseOf))
  const pictures = await picturesOf(floors.flatMap((f) => (f.drawing ? [f.drawing.sha256] : [])))
  const box = document.createElement('div')
  box.className = 'plan-print'
  document.body.append(box)
  render(<Paper floors={floors} reel={r} courseOf={courseOf} pictures={pictures} moment={`${day(shownAt.value)} ${clock(shownAt.value)}`} known={asked.value.knownBy} />, box)
  document.documentElement.classList.add('plan-printing')
  const done = (): void => {
    document.documentElement.classList.remove('plan-printing')
    render(null, box)
    box.remove()
    for (const p of pictures.values()) URL.revokeObjectURL(p.url)
  }
  addEventListener('afterprint', done, { once: true })
  await Promise.all([...box.querySelectorAll('image')].map(() => new Promise((next) => setTimeout(next, 50)))) // pictures are decoded
  print()
}

// picturesOf fetches the drawings; one that is not here is left out.
async function picturesOf(hashes: string[]): Promise<Map<string, { url: string; wide: number; high: number }>> {
  const out: PaperProps['pictures'] & Map<string, { url: string; wide: number; high: number }> = new Map()
  for (const sha of new Set(hashes)) {
    try {
      const blob = await (await request('GET', `picture/${sha}`)).blob()
      const image = await createImageBitmap(blob)
      out.set(sha, { url: URL.createObjectURL(blob), wide: image.width, high: image.height })
      image.close()
    } catch {
      continue
    }
  }
  return out
}
