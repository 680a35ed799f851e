// The layer below: the photographed drawing, walls, hubs and names. It is drawn
// when the view rests, and only moved while it does not.
import { drawMark } from './sprite'
import type { Floor } from './floor'
import type { Palette } from './palette'
import { hatchOf } from './hatch'
import { barOf, toScreen, toSite, type Size, type View } from './view'

export interface Under { image: CanvasImageSource; wide: number; high: number } // the drawing, ready for the theme

export function drawGround(ctx: CanvasRenderingContext2D, f: Floor, under: Under | null, v: View, s: Size, c: Palette, words: (hub: string) => string): void {
  ctx.fillStyle = c.ground
  ctx.fillRect(0, 0, s.w, s.h)
  grid(ctx, v, s, c)
  if (under && f.drawing) sheet(ctx, f.drawing, under, v, s, c.dark)
  for (const w of f.walls) wall(ctx, w, v, s, c)
  names(ctx, f, v, s, c)
  for (const h of f.hubs) {
    const [x, y] = toScreen(v, s, h.x, h.y)
    ctx.save()
    ctx.translate(x, y)
    drawMark(ctx, { shape: 'house', state: 0, signs: 0, emergency: false }, 14, c)
    ctx.restore()
    text(ctx, words(h.id), x, y + 5, c, 700, 12)
  }
}

// grid is a faint line every ten metres, or every hundred where those are close.
function grid(ctx: CanvasRenderingContext2D, v: View, s: Size, c: Palette): void {
  let step = 10_000
  while (step * v.scale < 40) step *= 10
  const [x0, y1] = toSite(v, s, 0, 0)
  const [x1, y0] = toSite(v, s, s.w, s.h)
  ctx.strokeStyle = c.line
  ctx.globalAlpha = 0.45
  ctx.lineWidth = 1
  ctx.beginPath()
  for (let x = Math.ceil(x0 / step) * step; x <= x1; x += step) {
    const px = Math.round(toScreen(v, s, x, 0)[0]) + 0.5
    ctx.moveTo(px, 0)
    ctx.lineTo(px, s.h)
  }
  for (let y = Math.ceil(y0 / step) * step; y <= y1; y += step) {
    const py = Math.round(toScreen(v, s, 0, y)[1]) + 0.5
    ctx.moveTo(0, py)
    ctx.lineTo(s.w, py)
  }
  ctx.stroke()
  ctx.globalAlpha = 1
}

function sheet(ctx: CanvasRenderingContext2D, d: NonNullable<Floor['drawing']>, under: Under, v: View, s: Size, dark: boolean): void {
  const [x, y] = toScreen(v, s, d.corner_mm[0], d.corner_mm[1])
  const k = (d.pixel_um / 1000) * v.scale
  ctx.save()
  ctx.translate(x, y)
  ctx.rotate((-d.turn_mdeg * Math.PI) / 180_000) // the screen's y goes down
  ctx.scale(k, k)
  ctx.globalAlpha = 0.8
  ctx.globalCompositeOperation = dark ? 'lighten' : 'darken' // its paper becomes the page's
  ctx.drawImage(under.image, 0, 0)
  ctx.restore()
}

// wall draws its two faces as far apart as it is thick, and its material between.
function wall(ctx: CanvasRenderingContext2D, w: Floor['walls'][number], v: View, s: Size, c: Palette): void {
  const trace = (): void => {
    ctx.beginPath()
    w.line_mm.forEach(([x, y], i) => {
      const [px, py] = toScreen(v, s, x, y)
      if (i) ctx.lineTo(px, py)
      else ctx.moveTo(px, py)
    })
  }
  const wide = Math.max(3, w.thickness_mm * v.scale)
  ctx.lineCap = 'butt'
  ctx.lineJoin = 'miter'
  const layers: [string | CanvasPattern, number][] = [[c.edge, wide]]
  if (wide > 3.5) layers.push([c.ground, wide - 2], [hatchOf(ctx, w.material, c), wide - 2])
  for (const [style, width] of layers) {
    trace()
    ctx.strokeStyle = style
    ctx.lineWidth = width
    ctx.stroke()
  }
}

// names of rooms stand amid their devices, where there is room for them.
function names(ctx: CanvasRenderingContext2D, f: Floor, v: View, s: Size, c: Palette): void {
  const taken: [number, number, number][] = []
  ctx.font = `600 12px ${c.font}`
  for (const r of f.rooms) {
    const [x, y] = toScreen(v, s, r.x, r.y)
    if (x < -200 || y < -50 || x > s.w + 200 || y > s.h + 50) continue
    const half = ctx.measureText(r.id).width / 2 + 8
    if (taken.some(([tx, ty, th]) => Math.abs(tx - x) < th + half && Math.abs(ty - y) < 16)) continue
    taken.push([x, y, half])
    text(ctx, r.id, x, y, c, 600, 12, c.soft)
  }
}

export function text(ctx: CanvasRenderingContext2D, words: string, x: number, y: number, c: Palette, weight: number, size: number, colour = c.ink): void {
  ctx.font = `${weight} ${size}px ${c.font}`
  ctx.textAlign = 'center'
  ctx.textBaseline = 'middle'
  ctx.lineJoin = 'round'
  ctx.strokeStyle = c.ground
  ctx.lineWidth = 3
  ctx.strokeText(words, x, y)
  ctx.fillStyle = colour
  ctx.fillText(words, x, y)
}

// drawScale draws the bar that says how long some metres are, at the bottom left.
export function drawScale(ctx: CanvasRenderingContext2D, v: View, s: Size, c: Palette): void {
  const metres = barOf(v.scale, Math.min(110, s.w / 3))
  const long = metres * 1000 * v.scale
  const y = s.h - 10
  for (const [colour, width] of [[c.ground, 6], [c.ink, 2]] as const) {
    ctx.beginPath()
    ctx.moveTo(10, y - 6)
    ctx.lineTo(10, y)
    ctx.lineTo(10 + long, y)
    ctx.lineTo(10 + long, y - 6)
    ctx.strokeStyle = colour
    ctx.lineWidth = width
    ctx.stroke()
  }
  text(ctx, `${metres} m`, 10 + long / 2, y - 9, c, 600, 12)
}
