// What fingers, mouse and keys do to the picture. Whatever they do has a button too.

export interface Moves {
  pan(dx: number, dy: number): void
  zoom(factor: number, px?: number, py?: number): void
  fit(): void
  tap(px: number, py: number): void
  middle(): void // picks what is in the middle
  step(way: 1 | -1): void // to the next device
}

const SLOP = 7 // px that a finger moves while it taps
const KEY_PAN = 80

export function gestures(at: HTMLElement, m: Moves): () => void {
  const down = new Map<number, { x: number; y: number }>()
  let travelled = 0
  const spread = (): { x: number; y: number; far: number } => {
    const [a, b] = [...down.values()]
    return { x: (a!.x + b!.x) / 2, y: (a!.y + b!.y) / 2, far: Math.hypot(a!.x - b!.x, a!.y - b!.y) }
  }
  const local = (e: { clientX: number; clientY: number }): { x: number; y: number } => {
    const box = at.getBoundingClientRect()
    return { x: e.clientX - box.left, y: e.clientY - box.top }
  }
  const press = (e: PointerEvent): void => {
    if (e.button !== 0) return
    at.setPointerCapture(e.pointerId)
    if (down.size === 0) travelled = 0
    else travelled = Infinity // two fingers never tap
    down.set(e.pointerId, local(e))
  }
  const move = (e: PointerEvent): void => {
    const was = down.get(e.pointerId)
    if (!was) return
    const is = local(e)
    if (down.size === 2) {
      const before = spread()
      down.set(e.pointerId, is)
      const after = spread()
      m.pan(after.x - before.x, after.y - before.y)
      if (before.far > 0) m.zoom(after.far / before.far, after.x, after.y)
      return
    }
    travelled += Math.hypot(is.x - was.x, is.y - was.y)
    if (travelled < SLOP) return
    m.pan(is.x - was.x, is.y - was.y)
    down.set(e.pointerId, is)
  }
  const lift = (e: PointerEvent): void => {
    const was = down.get(e.pointerId)
    down.delete(e.pointerId)
    if (was && e.type === 'pointerup' && down.size === 0 && travelled < SLOP) m.tap(was.x, was.y)
  }
  const wheel = (e: WheelEvent): void => {
    e.preventDefault()
    const { x, y } = local(e)
    m.zoom(Math.exp(-Math.max(-120, Math.min(120, e.deltaY)) * 0.002), x, y)
  }
  const key = (e: KeyboardEvent): void => {
    if (e.ctrlKey || e.metaKey || e.altKey) return
    const act: Record<string, () => void> = {
      ArrowLeft: () => m.pan(KEY_PAN, 0), ArrowRight: () => m.pan(-KEY_PAN, 0),
      ArrowUp: () => m.pan(0, KEY_PAN), ArrowDown: () => m.pan(0, -KEY_PAN),
      '+': () => m.zoom(1.4), '=': () => m.zoom(1.4), '-': () => m.zoom(1 / 1.4),
      Home: m.fit, '0': m.fit, Enter: m.middle, ' ': m.middle,
      n: () => m.step(1), p: () => m.step(-1),
    }
    const f = act[e.key]
    if (!f) return
    e.preventDefault()
    f()
  }
  at.addEventListener('pointerdown', press)
  at.addEventListener('pointermove', move)
  at.addEventListener('pointerup', lift)
  at.addEventListener('pointercancel', lift)
  at.addEventListener('wheel', wheel, { passive: false })
  at.addEventListener('keydown', key)
  return () => {
    at.removeEventListener('pointerdown', press)
    at.removeEventListener('pointermove', move)
    at.removeEventListener('pointerup', lift)
    at.removeEventListener('pointercancel', lift)
    at.removeEventListener('wheel', wheel)
    at.removeEventListener('keydown', key)
  }
}
