// The two canvases upon each other, and when each is drawn. The lower one is larger
// than what shows: while the view moves it is moved along, and drawn anew once the
// view rests, or at every frame where that costs next to nothing.
import { drawGround, type Under } from './ground'
import { Marks, type Frame } from './marks'
import { palette, type Palette } from './palette'
import { EMPTY, type Scene } from './scene'
import type { Floor } from './floor'
import type { Reel } from './reel'
import { onSite } from './sheet'
import { boxOf, fit, join, pan, radiusAt, shift, toSite, zoomAt, type Box, type Size, type View, type XY } from './view'

const OVER = 0.25 // of the width and height, on every side
const CHEAP = 2 // ms in which the lower layer may be drawn at every frame
const REST = 140 // ms
const MARGIN = 28 // px around a floor that is shown whole
const BUTTONS = 48 // px at the right, where the buttons are

export class Stage {
  size: Size = { w: 0, h: 0 }
  view: View = { x: 0, y: 0, scale: 0.01 }
  private floor: Floor | null = null
  private reel: Reel | null = null
  private scene: Scene = EMPTY
  private under: Under | null = null
  private colours: Palette = palette()
  private marks: Marks
  private spotOf = new Map<number, number>() // by place in the course
  private drawnView: View = this.view // what the lower layer was drawn for
  private cost = 0
  private whole = true // the floor is shown whole, and goes on being so when the window changes
  private frame = 0
  private timer = 0
  private stale = { ground: true, marks: true, moved: false }
  private changed = new Set<number>()
  private below: CanvasRenderingContext2D
  private above: CanvasRenderingContext2D

  constructor(private readonly lower: HTMLCanvasElement, private readonly upper: HTMLCanvasElement, private readonly hubWords: (id: string) => string) {
    this.below = lower.getContext('2d', { alpha: false })!
    this.above = upper.getContext('2d')!
    this.marks = new Marks(this.above)
  }

  private get ratio(): number { return Math.min(devicePixelRatio || 1, 3) }
  private get wide(): Size { return { w: Math.round(this.size.w * (1 + 2 * OVER)), h: Math.round(this.size.h * (1 + 2 * OVER)) } }

  resize(w: number, h: number): void {
    if (w < 2 || h < 2) return
    this.size = { w, h }
    const r = this.ratio
    const { w: gw, h: gh } = this.wide
    for (const [canvas, cw, ch] of [[this.upper, w, h], [this.lower, gw, gh]] as const) {
      canvas.width = Math.round(cw * r)
      canvas.height = Math.round(ch * r)
      canvas.style.width = `${cw}px`
      canvas.style.height = `${ch}px`
    }
    this.lower.style.left = `${-(gw - w) / 2}px`
    this.lower.style.top = `${-(gh - h) / 2}px`
    if (this.whole) this.fit()
    this.ask('ground', 'marks')
  }

  setFloor(f: Floor, keep: boolean): void {
    this.floor = f
    this.marks.spots = f.spots
    this.spotOf = new Map(f.spots.map((s, i) => [s.course, i]))
    if (!keep) this.fit()
    this.ask('ground', 'marks')
  }

  setReel(r: Reel | null): void { this.reel = r; this.ask('marks') }
  setScene(s: Scene): void { this.scene = s; this.ask('marks') }

  setUnder(u: Under | null): void {
    this.under = u
    if (this.whole) this.fit()
    this.ask('ground')
  }

  // redress reads the colours again.
  redress(): void {
    this.colours = palette()
    this.marks.forget()
    this.ask('ground', 'marks')
  }

  // turn redraws the devices that changed, by their places in the course.
  turn(devices: readonly number[]): void {
    for (const d of devices) {
      const i = this.spotOf.get(d)
      if (i !== undefined) this.changed.add(i)
    }
    if (this.changed.size) this.ask()
  }

  box(): Box | null {
    const f = this.floor
    if (!f) return null
    if (!this.under || !f.drawing) return f.box
    const { wide, high } = this.under
    const corners = [[0, 0], [wide, 0], [0, high], [wide, high]] as const
    return join(f.box, boxOf(corners.map(([u, v]) => onSite(f.drawing!, u, v))))
  }

  fit(): void {
    const { w, h } = this.size
    this.look(pan(fit(this.box(), { w: w - BUTTONS, h }, MARGIN), -BUTTONS / 2, 0))
    this.whole = true
  }

  pan(dx: number, dy: number): void { this.look(pan(this.view, dx, dy)) }
  zoom(factor: number, px = this.size.w / 2, py = this.size.h / 2): void { this.look(zoomAt(this.view, this.size, px, py, factor)) }
  centre(x: number, y: number): void { this.look({ ...this.view, x, y }) }
  site(px: number, py: number): XY { return toSite(this.view, this.size, px, py) }

  private look(v: View): void {
    this.view = v
    this.whole = false
    this.stale.moved = true
    this.ask('marks')
    clearTimeout(this.timer)
    this.timer = window.setTimeout(() => this.ask('ground'), REST)
  }

  private ask(...what: ('ground' | 'marks')[]): void {
    for (const x of what) this.stale[x] = true
    if (!this.frame) this.frame = requestAnimationFrame(() => this.draw())
  }

  stop(): void {
    cancelAnimationFrame(this.frame)
    clearTimeout(this.timer)
    this.frame = -1 // nothing is drawn after this
  }

  private draw(): void {
    this.frame = 0
    if (!this.floor || this.size.w < 2) return
    const s = this.stale
    if (s.ground || (s.moved && (this.cost < CHEAP || this.bare()))) this.drawBelow()
    else if (s.moved) this.moveBelow()
    if (s.marks) this.marks.paint(this.all())
    else if (this.changed.size) this.marks.repaint([...this.changed], this.all())
    const drawn = s.marks || this.changed.size > 0
    this.stale = { ground: false, marks: false, moved: false }
    this.changed.clear()
    if (drawn) document.dispatchEvent(new CustomEvent('pairwalk:drawn'))
  }

  private all(): Frame {
    const { view, size, ratio, colours, reel, scene } = this
    return { view, size, ratio, colours, reel, scene, radius: radiusAt(view.scale, this.floor!.apart) }
  }

  private drawBelow(): void {
    const began = performance.now()
    this.below.setTransform(this.ratio, 0, 0, this.ratio, 0, 0)
    drawGround(this.below, this.floor!, this.under, this.view, this.wide, this.colours, this.hubWords)
    this.lower.style.transform = ''
    this.drawnView = this.view
    // One slow frame says little; several do.
    this.cost = 0.7 * this.cost + 0.3 * (performance.now() - began)
  }

  private moveBelow(): void {
    const { k, dx, dy } = shift(this.drawnView, this.view, this.wide)
    this.lower.style.transform = `translate(${dx}px, ${dy}px) scale(${k})`
  }

  // bare says whether the lower layer, moved, would leave a part of the picture bare
  // by so much that it is worth a slow frame.
  private bare(): boolean {
    const { k, dx, dy } = shift(this.drawnView, this.view, this.wide)
    const { w, h } = this.wide
    const [mx, my] = [(w - this.size.w) / 2, (h - this.size.h) / 2]
    const most = 0.25
    return dx > mx + most * w || dy > my + most * h || dx + k * w < w - mx - most * w || dy + k * h < h - my - most * h || k > 3 || k < 0.5
  }
}
