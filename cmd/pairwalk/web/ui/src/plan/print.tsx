// Printing: the sheets are made when they are asked for, and are gone afterwards.
import { render } from 'preact'
import type { Layout } from '../api'
import { request } from '../request'
import { day, clock } from '../times'
import { asked, reel, shownAt } from './desk'
import { floorOf, floorsOf } from './floor'
import { Paper } from './paper'

const PICTURES = 200 // ms until they are drawn

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
  // An SVG has no promise of its pictures; they are in memory already.
  if (pictures.size) await new Promise((next) => setTimeout(next, PICTURES))
  print()
}

type Pictures = Map<string, { url: string; wide: number; high: number }>

// picturesOf fetches the drawings; one that is not here is left out.
async function picturesOf(hashes: string[]): Promise<Pictures> {
  const out: Pictures = new Map()
  for (const sha of new Set(hashes)) {
    try {
      const blob = await (await request('GET', `picture/${sha}`)).blob()
      const image = new Image()
      image.src = URL.createObjectURL(blob)
      await image.decode()
      out.set(sha, { url: image.src, wide: image.naturalWidth, high: image.naturalHeight })
    } catch {
      continue
    }
  }
  return out
}
