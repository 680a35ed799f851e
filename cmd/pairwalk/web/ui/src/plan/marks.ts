// The layer above: the devices, and what is drawn among them. A device that changes
// is drawn again with its neighbours, and nothing else is.
import { shapeOf } from '../parts/mark'
import { text } from './ground'
import { drawScene, type Look, type Scene } from './scene'
import { ABSENT, SIGNS, type Reel } from './reel'
import { REACH, Sprites, type Cell } from './sprite'
import type { Spot } from './floor'
import { toScreen } from './view'

const LABELS = 13 // marks of this size have their tags below
const LABEL_WIDE = 44 // half of the room for a tag, px

// Frame is all that a redraw hangs on.
export interface Frame extends Look { ratio: number; reel: Reel | null; scene: Scene }

export class Marks {
  spots: readonly Spot[] = []
  private sprites: Sprites | null = null
  private xs = new Float32Array(0)
  private ys = new Float32Array(0)

  constructor(private readonly ctx: CanvasRenderingContext2D) {}

  // forget drops what was drawn for another theme or screen.
  forget(): void { this.sprites = null }

  // paint draws everything.
  paint(f: Frame): void {
    this.aim(f)
    const { ctx } = this
    ctx.setTransform(f.ratio, 0, 0, f.ratio, 0, 0)
    ctx.clearRect(0, 0, f.size.w, f.size.h)
    this.fill(this.spots.keys(), f)
  }

  // repaint draws again what touches the given spots. The view must be that of the
  // last paint.
  repaint(changed: readonly number[], f: Frame): void {
    if (!this.sprites || changed.length * 6 > this.spots.length) return this.paint(f)
    const { ctx } = this
    const r = REACH * this.sprites.radius + 1
    const half = this.labels ? Math.max(LABEL_WIDE, r) : r
    const high = this.labels ? r + 17 : r
    const { w, h } = f.size
    const px = (n: number): number => Math.floor(n * f.ratio) // whole pixels: half a one would be cleared by half
    ctx.save()
    ctx.setTransform(1, 0, 0, 1, 0, 0)
    ctx.beginPath()
    const boxes: [number, number][] = []
    for (const i of changed) {
      const x = this.xs[i]!
      const y = this.ys[i]!
      if (x < -half || y < -high || x > w + half || y > h + high) continue
      boxes.push([x, y])
      ctx.rect(px(x - half), px(y - high), px(2 * half) + 2, px(2 * high) + 2)
    }
    if (boxes.length) {
      ctx.clip()
      ctx.setTransform(f.ratio, 0, 0, f.ratio, 0, 0)
      ctx.clearRect(0, 0, w, h)
      this.fill(this.near(boxes, 2 * half + 2, 2 * high + 2), f)
    }
    ctx.restore()
    return undefined
  }

  private fill(which: Iterable<number>, f: Frame): void {
    drawScene(this.ctx, f.scene, f, 'under')
    this.blit(which, f)
    drawScene(this.ctx, f.scene, f, 'over')
  }

  // aim works out where every spot is on the screen.
  private aim({ view, size, ratio, radius: r, colours }: Frame): void {
    const n = this.spots.length
    if (this.xs.length !== n) {
      this.xs = new Float32Array(n)
      this.ys = new Float32Array(n)
    }
    for (let i = 0; i < n; i++) {
      const p = this.spots[i]!
      const [x, y] = toScreen(view, size, p.x, p.y)
      this.xs[i] = x
      this.ys[i] = y
    }
    if (this.sprites?.radius !== r || this.sprites.ratio !== ratio) this.sprites = new Sprites(r, ratio, colours)
  }

  private get labels(): boolean { return this.sprites!.radius >= LABELS }

  // near lists the spots that may touch one of the boxes.
  private near(boxes: [number, number][], dx: number, dy: number): number[] {
    const buckets = new Map<number, [number, number][]>()
    const at = (x: number, y: number): number => Math.floor(x / dx) * 100_003 + Math.floor(y / dy)
    for (const b of boxes) {
      const key = at(b[0], b[1])
      const list = buckets.get(key)
      if (list) list.push(b)
      else buckets.set(key, [b])
    }
    const out: number[] = []
    for (let i = 0; i < this.spots.length; i++) {
      if (this.touches(buckets, this.xs[i]!, this.ys[i]!, dx, dy)) out.push(i)
    }
    return out
  }

  private touches(buckets: Map<number, [number, number][]>, x: number, y: number, dx: number, dy: number): boolean {
    for (let i = -1; i <= 1; i++) {
      for (let j = -1; j <= 1; j++) {
        const list = buckets.get((Math.floor(x / dx) + i) * 100_003 + Math.floor(y / dy) + j)
        if (list?.some(([bx, by]) => Math.abs(bx - x) < dx && Math.abs(by - y) < dy)) return true
      }
    }
    return false
  }

  // blit copies the marks. Those that are new to the sheet are drawn there first:
  // a sheet that changes between copies would be copied itself each time.
  private blit(which: Iterable<number>, { size: s, ratio, colours: c, reel }: Frame): void {
    const sprites = this.sprites!
    const list: [number, Cell][] = []
    const edge = sprites.radius * REACH + (this.labels ? LABEL_WIDE : 0)
    for (const i of which) {
      const x = this.xs[i]!
      const y = this.ys[i]!
      if (x < -edge || y < -edge || x > s.w + edge || y > s.h + edge) continue
      const cell = this.cellOf(this.spots[i]!, sprites, reel)
      if (cell) list.push([i, cell])
    }
    const { ctx } = this
    ctx.setTransform(1, 0, 0, 1, 0, 0)
    for (const [i, { sheet, x, y, side }] of list) {
      ctx.drawImage(sheet, x, y, side, side, Math.round(this.xs[i]! * ratio - side / 2), Math.round(this.ys[i]! * ratio - side / 2), side, side)
    }
    ctx.setTransform(ratio, 0, 0, ratio, 0, 0)
    if (this.labels) {
      for (const [i] of list) text(ctx, this.spots[i]!.tag, this.xs[i]!, this.ys[i]! + sprites.radius * 1.5 + 8, c, 500, 11)
    }
  }

  private cellOf(p: Spot, sprites: Sprites, reel: Reel | null): Cell | null {
    const known = reel !== null && p.course >= 0
    const state = known ? reel.state[p.course]! : ABSENT
    const signs = known ? reel.signs[p.course]! : 0
    if (state === ABSENT || signs & SIGNS.gone) return null
    return sprites.cell({ shape: shapeOf(p.device.kind), state, signs, emergency: p.device.emergency })
  }
}
