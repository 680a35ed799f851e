// How a photographed plan lies on a floor. A picture's pixels count from its top
// left corner, to the right and down; the site's axes are mm, y upwards.
import type { XY } from './view'

export interface Sheet { corner_mm: [number, number]; pixel_um: number; turn_mdeg: number }

const turned = ([x, y]: XY, mdeg: number): XY => {
  const a = (mdeg * Math.PI) / 180_000
  return [x * Math.cos(a) - y * Math.sin(a), x * Math.sin(a) + y * Math.cos(a)]
}

// onSite is where a pixel of the picture lies.
export function onSite(s: Sheet, u: number, v: number): XY {
  const mm = s.pixel_um / 1000
  const [x, y] = turned([u * mm, -v * mm], s.turn_mdeg)
  return [s.corner_mm[0] + x, s.corner_mm[1] + y]
}

// byDistance lays a picture by two of its pixels and how far apart they are (mm),
// where the first one lies, and how far the picture is turned.
export function byDistance(a: XY, b: XY, mm: number, at: XY, turn_mdeg: number): Sheet {
  const pixels = Math.hypot(b[0] - a[0], b[1] - a[1])
  const pixel_um = Math.max(1, Math.round((mm * 1000) / pixels))
  const [x, y] = turned([(a[0] * pixel_um) / 1000, (-a[1] * pixel_um) / 1000], turn_mdeg)
  return { corner_mm: [Math.round(at[0] - x), Math.round(at[1] - y)], pixel_um, turn_mdeg }
}

// byPlaces lays a picture by two of its pixels and where both lie.
export function byPlaces(a: XY, b: XY, atA: XY, atB: XY): Sheet {
  const mm = Math.hypot(atB[0] - atA[0], atB[1] - atA[1])
  const want = Math.atan2(atB[1] - atA[1], atB[0] - atA[0])
  const is = Math.atan2(-(b[1] - a[1]), b[0] - a[0])
  let turn = Math.round(((want - is) * 180_000) / Math.PI)
  turn = ((((turn + 180_000) % 360_000) + 360_000) % 360_000) - 180_000
  return byDistance(a, b, mm, atA, turn)
}
