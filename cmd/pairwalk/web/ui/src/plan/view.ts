// Where the floor lies on the screen. The site's axes are mm with y upwards, the
// screen's are CSS pixels with y downwards. Nothing here touches the page.

// View puts a place of the site at the middle of the picture.
export interface View { x: number; y: number; scale: number } // mm, mm, px per mm
export interface Size { w: number; h: number }
export interface Box { minX: number; minY: number; maxX: number; maxY: number }
export type XY = [number, number]

// A pixel is at most 200 m and at least 1 mm: what lies beyond helps nobody.
const FAR = 1 / 200_000
const NEAR = 1

export const toScreen = (v: View, s: Size, x: number, y: number): XY =>
  [s.w / 2 + (x - v.x) * v.scale, s.h / 2 - (y - v.y) * v.scale]

export const toSite = (v: View, s: Size, px: number, py: number): XY =>
  [v.x + (px - s.w / 2) / v.scale, v.y - (py - s.h / 2) / v.scale]

export const pan = (v: View, dx: number, dy: number): View =>
  ({ ...v, x: v.x - dx / v.scale, y: v.y + dy / v.scale })

// zoomAt changes the scale and leaves what is under a pixel where it is.
export function zoomAt(v: View, s: Size, px: number, py: number, factor: number): View {
  const scale = Math.min(NEAR, Math.max(FAR, v.scale * factor))
  const [x, y] = toSite(v, s, px, py)
  return { x: x - (px - s.w / 2) / scale, y: y + (py - s.h / 2) / scale, scale }
}

export function boxOf(points: Iterable<XY>): Box | null {
  let b: Box | null = null
  for (const [x, y] of points) {
    if (!b) b = { minX: x, minY: y, maxX: x, maxY: y }
    b.minX = Math.min(b.minX, x)
    b.minY = Math.min(b.minY, y)
    b.maxX = Math.max(b.maxX, x)
    b.maxY = Math.max(b.maxY, y)
  }
  return b
}

export function join(a: Box | null, b: Box | null): Box | null {
  if (!a || !b) return a ?? b
  return { minX: Math.min(a.minX, b.minX), minY: Math.min(a.minY, b.minY), maxX: Math.max(a.maxX, b.maxX), maxY: Math.max(a.maxY, b.maxY) }
}

// fit shows a box whole, with a margin in pixels. A single point gets ten metres
// around it.
export function fit(b: Box | null, s: Size, margin: number): View {
  if (!b) return { x: 0, y: 0, scale: s.w / 20_000 || FAR }
  const wide = Math.max(b.maxX - b.minX, 10_000)
  const high = Math.max(b.maxY - b.minY, 10_000)
  const room = (n: number): number => Math.max(n - 2 * margin, n / 4, 1)
  const scale = Math.min(room(s.w) / wide, room(s.h) / high)
  return { x: (b.minX + b.maxX) / 2, y: (b.minY + b.maxY) / 2, scale: Math.min(NEAR, Math.max(FAR, scale)) }
}

// shift is how a picture drawn under one view is to be moved to serve for
// another: enlarged k times around its top left corner, then moved by dx, dy.
export function shift(from: View, to: View, s: Size): { k: number; dx: number; dy: number } {
  const k = to.scale / from.scale
  const [x, y] = toSite(from, s, 0, 0)
  const [dx, dy] = toScreen(to, s, x, y)
  return { k, dx, dy }
}

// RADII are the sizes in which marks are drawn: few, so that each is drawn once.
export const RADII = [3, 4, 5, 6, 8, 10, 13, 16] as const

// radiusAt is how large marks are at a scale, so that neighbours that are the usual
// way apart (mm) do not touch; but never too small to be seen.
export function radiusAt(scale: number, apart: number): number {
  const want = 0.36 * apart * scale
  let best: number = RADII[0]
  for (const r of RADII) if (r <= want) best = r
  return best
}

// barOf is the length of the scale bar: the roundest one of at most that many
// pixels. It returns metres.
export function barOf(scale: number, most: number): number {
  const metres = most / scale / 1000
  const ten = 10 ** Math.floor(Math.log10(metres))
  for (const k of [5, 2, 1]) if (k * ten <= metres) return k * ten
  return ten
}
