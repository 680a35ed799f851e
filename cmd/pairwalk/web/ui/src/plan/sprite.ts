// Marks, each drawn once for its shape, state and signs, and then copied. All of
// one size lie in a few large canvases.
import { STATES } from '../api'
import { FILL, outline, type Shape } from '../parts/mark'
import { fillOf, type Palette } from './palette'
import { SIGNS } from './reel'

export interface Cell { sheet: HTMLCanvasElement; x: number; y: number; side: number } // device pixels
export interface Look { shape: Shape; state: number; signs: number; emergency: boolean }

const SHAPES = Object.keys(outline) as Shape[]
const SHEET = 1024

// REACH is how far a mark with its signs goes from its middle, in radii; PLAIN how
// far one without any does. Most are plain, and what is transparent costs as much
// to copy as what is not.
export const REACH = 1.9
const PLAIN = 1.3

interface Sheets { side: number; list: HTMLCanvasElement[]; used: number }

export class Sprites {
  private readonly cells = new Map<number, Cell>()
  private readonly large: Sheets
  private readonly small: Sheets

  constructor(readonly radius: number, readonly ratio: number, private readonly colours: Palette) {
    const sheets = (reach: number): Sheets => ({ side: Math.ceil((radius * reach * 2 + 2) * ratio), list: [], used: 0 })
    this.large = sheets(REACH)
    this.small = sheets(PLAIN)
  }

  cell(l: Look): Cell {
    const key = ((SHAPES.indexOf(l.shape) * 8 + l.state) * 256 + l.signs) * 2 + (l.emergency ? 1 : 0)
    let c = this.cells.get(key)
    if (!c) {
      c = make(l.signs || l.emergency ? this.large : this.small)
      const ctx = c.sheet.getContext('2d')!
      ctx.save()
      ctx.translate(c.x + c.side / 2, c.y + c.side / 2)
      ctx.scale(this.ratio, this.ratio)
      drawMark(ctx, l, this.radius, this.colours)
      ctx.restore()
      this.cells.set(key, c)
    }
    return c
  }
}

// make takes the next free cell, on a new sheet where the last one is full.
function make(s: Sheets): Cell {
  const across = Math.max(1, Math.floor(SHEET / s.side))
  const most = across * across
  if (s.used % most === 0) {
    const sheet = document.createElement('canvas')
    sheet.width = sheet.height = Math.max(SHEET, s.side)
    s.list.push(sheet)
  }
  const i = s.used++ % most
  return { sheet: s.list.at(-1)!, x: (i % across) * s.side, y: Math.floor(i / across) * s.side, side: s.side }
}

export function tracePoints(ctx: CanvasRenderingContext2D, shape: Shape, r: number): void {
  ctx.beginPath()
  outline[shape].forEach(([x, y], i) => (i ? ctx.lineTo(x * r, y * r) : ctx.moveTo(x * r, y * r)))
  ctx.closePath()
}

// drawMark draws a device around 0,0. What is full says its state; the signs beside
// it say the rest.
export function drawMark(ctx: CanvasRenderingContext2D, l: Look, r: number, c: Palette): void {
  const has = (sign: number): boolean => (l.signs & sign) !== 0
  ctx.lineJoin = 'round'
  if (has(SIGNS.struck)) ctx.globalAlpha = 0.5
  tracePoints(ctx, l.shape, r)
  ctx.fillStyle = c.ground
  ctx.fill()
  ctx.save()
  ctx.clip()
  const full = FILL[STATES[l.state] ?? ''] ?? 0
  ctx.fillStyle = fillOf(c, l.state)
  ctx.fillRect(-2 * r, 1.15 * r - 2.3 * r * full, 4 * r, 2.3 * r * full)
  ctx.restore()
  tracePoints(ctx, l.shape, r)
  ctx.strokeStyle = c.ink
  ctx.lineWidth = r < 4 ? 0.9 : r < 6 ? 1.2 : 1.8
  ctx.stroke()
  if (STATES[l.state] === 'pushed' && r >= 6) line(ctx, [[-0.45, 0.05], [-0.1, 0.4], [0.5, -0.4]], r, c.ground, Math.max(1.6, r / 5))
  if (has(SIGNS.missed)) notch(ctx, r)
  if (l.emergency) ring(ctx, r, c)
  if (has(SIGNS.dark)) cross(ctx, r, c)
  if (has(SIGNS.hold)) bar(ctx, r, c)
  if (has(SIGNS.fault)) flag(ctx, r, c)
  if (r < 4) return // too small for more: the list and the card say it
  if (has(SIGNS.refused)) small(ctx, [[-1.75, 0.85], [-1.05, 1.55]], [[-1.05, 0.85], [-1.75, 1.55]], r, c)
  if (has(SIGNS.skipped)) small(ctx, [[1.05, 0.8], [1.5, 1.2], [1.05, 1.6]], [[1.4, 0.8], [1.85, 1.2], [1.4, 1.6]], r, c)
  if (has(SIGNS.struck)) line(ctx, [[-1.6, 0], [1.6, 0]], r, c.ink, Math.max(1.5, r / 6))
}

type Points = [number, number][]

function line(ctx: CanvasRenderingContext2D, points: Points, r: number, colour: string, width: number): void {
  ctx.beginPath()
  points.forEach(([x, y], i) => (i ? ctx.lineTo(x * r, y * r) : ctx.moveTo(x * r, y * r)))
  ctx.strokeStyle = colour
  ctx.lineWidth = width
  ctx.stroke()
}

// cross: it has no power.
function cross(ctx: CanvasRenderingContext2D, r: number, c: Palette): void {
  for (const [colour, width] of [[c.ground, Math.max(3.2, r / 2.6)], [c.ink, Math.max(1.5, r / 5.5)]] as const) {
    line(ctx, [[-1.3, -1.3], [1.3, 1.3]], r, colour, width)
    line(ctx, [[-1.3, 1.3], [1.3, -1.3]], r, colour, width)
  }
}

// bar: a hold lies on it.
function bar(ctx: CanvasRenderingContext2D, r: number, c: Palette): void {
  ctx.fillStyle = c.ink
  ctx.fillRect(-1.3 * r, 1.3 * r, 2.6 * r, Math.max(2, 0.42 * r))
}

// flag: a fault is open.
function flag(ctx: CanvasRenderingContext2D, r: number, c: Palette): void {
  line(ctx, [[0.75, -0.3], [0.75, -1.8]], r, c.ink, Math.max(1.4, r / 7))
  ctx.beginPath()
  for (const [i, [x, y]] of ([[0.75, -1.8], [1.85, -1.45], [0.75, -1.05]] as Points).entries()) (i ? ctx.lineTo(x * r, y * r) : ctx.moveTo(x * r, y * r))
  ctx.closePath()
  ctx.fillStyle = c.bad
  ctx.fill()
  ctx.strokeStyle = c.ink
  ctx.lineWidth = 1
  ctx.stroke()
}

// ring: part of the emergency lighting.
function ring(ctx: CanvasRenderingContext2D, r: number, c: Palette): void {
  ctx.beginPath()
  ctx.arc(0, 0, 1.5 * r, 0, 2 * Math.PI)
  ctx.strokeStyle = c.ink
  ctx.lineWidth = r < 6 ? 1.2 : 2
  ctx.stroke()
}

// notch: it missed a push. Its outline is open at the top.
function notch(ctx: CanvasRenderingContext2D, r: number): void {
  ctx.save()
  ctx.globalCompositeOperation = 'destination-out'
  ctx.globalAlpha = 1
  ctx.beginPath()
  ctx.moveTo(0, 0.1 * r)
  ctx.lineTo(0.62 * r, -1.5 * r)
  ctx.lineTo(-0.62 * r, -1.5 * r)
  ctx.fill()
  ctx.restore()
}

function small(ctx: CanvasRenderingContext2D, a: Points, b: Points, r: number, c: Palette): void {
  for (const [colour, width] of [[c.ground, Math.max(3, r / 3)], [c.ink, Math.max(1.3, r / 7)]] as const) {
    line(ctx, a, r, colour, width)
    line(ctx, b, r, colour, width)
  }
}
