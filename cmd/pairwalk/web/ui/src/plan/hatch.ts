// What fills a wall says what it is of. The materials are those that the model of
// radio knows; of any other the wall stays empty.
import type { Palette } from './palette'

const kept = new Map<string, CanvasPattern>()

export function hatchOf(ctx: CanvasRenderingContext2D, material: string, c: Palette): CanvasPattern | string {
  const key = `${material} ${c.edge} ${c.ground}`
  let p = kept.get(key)
  if (!p) {
    const made = make(ctx, material, c)
    if (!made) return c.ground
    kept.set(key, (p = made))
  }
  return p
}

const lines: Record<string, [number, number, number, number][]> = {
  concrete: [[0, 8, 8, 0], [-2, 2, 2, -2], [6, 10, 10, 6], [0, 0, 8, 8]],
  brick: [[0, 8, 8, 0], [-2, 2, 2, -2], [6, 10, 10, 6]],
  plasterboard: [[4, 0, 4, 8]],
  'ceiling-board': [[4, 0, 4, 8]],
  chipboard: [[0, 2, 8, 2], [0, 6, 8, 6]],
  plywood: [[0, 2, 8, 2], [0, 6, 8, 6]],
  wood: [[0, 4, 8, 4]],
  marble: [[0, 0, 8, 8], [-2, 6, 2, 10], [6, -2, 10, 2]],
}

function make(ctx: CanvasRenderingContext2D, material: string, c: Palette): CanvasPattern | null {
  if (material !== 'metal' && !(material in lines)) return null
  const tile = document.createElement('canvas')
  tile.width = tile.height = 8
  const t = tile.getContext('2d')!
  t.fillStyle = material === 'metal' ? c.edge : c.ground
  t.fillRect(0, 0, 8, 8)
  t.strokeStyle = c.edge
  t.lineWidth = 1.2
  for (const [x0, y0, x1, y1] of lines[material] ?? []) {
    t.beginPath()
    t.moveTo(x0, y0)
    t.lineTo(x1, y1)
    t.stroke()
  }
  return ctx.createPattern(tile, 'repeat')
}
