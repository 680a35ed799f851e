// What is drawn among the marks: islands, the path of the chosen device, rings.
import { drawScale, text } from './ground'
import type { Palette } from './palette'
import { toScreen, type Size, type View, type XY } from './view'

// Ring says what a ring around a mark means; each is drawn in a way of its own.
export type Ring = 'chosen' | 'single' | 'strands' | 'lost' | 'weaker' | 'gained' | 'dark'

// Sure is how much is known of a path: that it was measured, that it is likely by
// what is predicted, or only that it is possible.
export type Sure = 'measured' | 'likely' | 'possible'

export interface Scene {
  path: { legs: [XY, XY][]; home: boolean; sure: Sure; end: XY | null; words: string } | null
  islands: { points: XY[]; sure: boolean; words: string }[]
  rings: { at: XY; ring: Ring }[]
  cross: boolean // show what the keyboard would pick
  bare?: boolean // no scale: it is a sample in the legend
}

export const EMPTY: Scene = { path: null, islands: [], rings: [], cross: false }

export interface Look { view: View; size: Size; radius: number; colours: Palette }

export function drawScene(ctx: CanvasRenderingContext2D, scene: Scene, { view: v, size: s, radius: r, colours: c }: Look, part: 'under' | 'over'): void {
  const on = ([x, y]: XY): XY => toScreen(v, s, x, y)
  if (part === 'under') {
    for (const x of scene.islands) island(ctx, x.points.map(on), x.sure, r, c)
    if (scene.path) path(ctx, scene.path, on, c)
    return
  }
  for (const x of scene.rings) ring(ctx, on(x.at), x.ring, r, c)
  for (const x of scene.islands) {
    if (!x.words) continue
    const top = x.points.map(on).reduce((a, b) => (b[1] < a[1] ? b : a))
    text(ctx, x.words, top[0], top[1] - 2.2 * r - 14, c, 700, 13)
  }
  if (scene.path?.end && scene.path.words) {
    const [x, y] = on(scene.path.end)
    text(ctx, scene.path.words, x, y - 2.2 * r - 10, c, 700, 13)
  }
  if (scene.cross) cross(ctx, s, c)
  if (!scene.bare) drawScale(ctx, v, s, c)
}

// island is a broad shore around a group; broken where it may be none.
function island(ctx: CanvasRenderingContext2D, points: XY[], sure: boolean, r: number, c: Palette): void {
  const trace = (): void => {
    ctx.beginPath()
    points.forEach(([x, y], i) => (i ? ctx.lineTo(x, y) : ctx.moveTo(x, y)))
    if (points.length === 1) ctx.lineTo(points[0]![0] + 0.1, points[0]![1])
    ctx.closePath()
  }
  const wide = 4.4 * r + 8
  ctx.lineJoin = ctx.lineCap = 'round'
  ctx.save()
  for (const [colour, width] of [[c.bad, wide], [c.ground, wide - 6]] as const) {
    trace()
    ctx.strokeStyle = ctx.fillStyle = colour
    ctx.lineWidth = width
    ctx.setLineDash(!sure && colour === c.bad ? [14, wide] : [])
    ctx.stroke()
    if (sure || colour === c.ground) ctx.fill()
  }
  ctx.restore()
}

const HUB = 20 // px
const DASH: Record<Sure, number[]> = { measured: [], likely: [18, 10], possible: [1, 12] }

// short ends a stretch before the hub's house, which lies on the layer below.
function short([ax, ay]: XY, [bx, by]: XY, less: number): XY {
  const long = Math.hypot(bx - ax, by - ay)
  const k = Math.max(0, long - less) / (long || 1)
  return [ax + (bx - ax) * k, ay + (by - ay) * k]
}

function path(ctx: CanvasRenderingContext2D, p: NonNullable<Scene['path']>, on: (x: XY) => XY, c: Palette): void {
  ctx.save()
  ctx.lineCap = 'round'
  for (const [colour, width] of [[c.ground, 10], [c.sky, 6]] as const) {
    ctx.strokeStyle = colour
    ctx.lineWidth = width
    ctx.setLineDash(DASH[p.sure])
    for (const [i, [a, b]] of p.legs.entries()) {
      const [ax, ay] = on(a)
      const [bx, by] = short(on(a), on(b), p.home && i + 1 === p.legs.length ? HUB : 0)
      ctx.beginPath()
      ctx.moveTo(ax, ay)
      ctx.lineTo(bx, by)
      ctx.stroke()
    }
  }
  ctx.restore()
}

const rings: Record<Ring, { radii: number[]; dash: number[]; colour: keyof Palette; width: number }> = {
  chosen: { radii: [2.1], dash: [], colour: 'sky', width: 4 },
  single: { radii: [1.75, 2.25], dash: [], colour: 'bad', width: 2 },
  strands: { radii: [1.75], dash: [2, 4], colour: 'bad', width: 2 },
  lost: { radii: [1.6], dash: [6, 4], colour: 'bad', width: 3 },
  weaker: { radii: [1.6], dash: [2, 3], colour: 'warn', width: 2.5 },
  gained: { radii: [1.6], dash: [], colour: 'good', width: 2.5 },
  dark: { radii: [1.6], dash: [1, 6], colour: 'ink', width: 3 },
}

function ring(ctx: CanvasRenderingContext2D, [x, y]: XY, kind: Ring, r: number, c: Palette): void {
  const how = rings[kind]
  ctx.save()
  for (const k of how.radii) {
    ctx.beginPath()
    ctx.arc(x, y, k * Math.max(r, 5), 0, 2 * Math.PI)
    if (!how.dash.length) { // a shadow under many of them would hide the neighbours
      ctx.strokeStyle = c.ground
      ctx.lineWidth = how.width + 2
      ctx.stroke()
    }
    ctx.setLineDash(how.dash)
    ctx.strokeStyle = c[how.colour] as string
    ctx.lineWidth = how.width
    ctx.stroke()
    ctx.setLineDash([])
  }
  ctx.restore()
}

// cross is where Enter picks: the middle of the picture.
function cross(ctx: CanvasRenderingContext2D, s: Size, c: Palette): void {
  const x = s.w / 2
  const y = s.h / 2
  for (const [colour, width] of [[c.ground, 5], [c.ink, 2]] as const) {
    ctx.beginPath()
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]] as const) {
      ctx.moveTo(x + 6 * dx, y + 6 * dy)
      ctx.lineTo(x + 20 * dx, y + 20 * dy)
    }
    ctx.strokeStyle = colour
    ctx.lineWidth = width
    ctx.stroke()
  }
}
