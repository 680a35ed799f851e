// The pure parts of the plan: what it shows at a moment, and where.
import assert from 'node:assert/strict'
import test from 'node:test'
import { bundled } from './bundle.mjs'

const { growingCourse } = await bundled('src/plan/growing.ts')
const { Reel, ABSENT, signsOf, SIGNS } = await bundled('src/plan/reel.ts')
const { Timeline, stepFrom } = await bundled('src/plan/timeline.ts')
const { labels } = await bundled('src/plan/labels.ts')
const view = await bundled('src/plan/view.ts')
const { pick, after, hull } = await bundled('src/plan/pick.ts')
const { onSite, byDistance, byPlaces } = await bundled('src/plan/sheet.ts')
const { floorOf, floorsOf, placesOf, legs, drawn } = await bundled('src/plan/floor.ts')
const { sceneOf, notesOf } = await bundled('src/plan/compose.ts')

// dice is a made-up, repeatable chance (mulberry32).
function dice(seed) {
  return () => {
    seed = (seed + 0x6d2b79f5) | 0
    let t = Math.imul(seed ^ (seed >>> 15), 1 | seed)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296
  }
}

function course(seed, devices, turns) {
  const roll = dice(seed)
  const out = Array.from({ length: turns }, () => {
    const at = Math.floor(roll() * 400)
    const state = Math.floor(roll() * 5)
    const settles = state === 2 && roll() < 0.8 ? at - 10 + Math.floor(roll() * 60) : 0
    return [at, Math.floor(roll() * devices), state, Math.max(0, settles), roll() < 0.4 ? 'sdhkrmfg'[Math.floor(roll() * 8)] : '']
  })
  return out.sort((a, b) => a[0] - b[0])
}

// slow is how a device looks by reading all turns from the start.
function slow(turns, device, at) {
  let last
  for (const t of turns) if (t[1] === device && t[0] <= at) last = t
  if (!last) return [ABSENT, 0]
  const [, , state, settles, letters] = last
  return [state === 2 && settles !== 0 && at >= settles ? 3 : state, signsOf(letters)]
}

test('a reel shows at any moment what a reading from the start shows, whichever way it was wound', () => {
  for (let seed = 1; seed <= 30; seed++) {
    const turns = course(seed, 9, 70)
    const reel = new Reel(9, turns)
    const roll = dice(seed + 1000)
    for (let i = 0; i < 80; i++) {
      const at = Math.floor(roll() * 480) - 20
      const before = [...reel.state].map((s, d) => `${s} ${reel.signs[d]}`)
      const changed = new Set(reel.wind(at))
      for (let d = 0; d < 9; d++) {
        assert.deepEqual([reel.state[d], reel.signs[d]], slow(turns, d, at), `seed ${seed}, device ${d} at ${at}`)
        if (!changed.has(d)) assert.equal(`${reel.state[d]} ${reel.signs[d]}`, before[d], `seed ${seed}: device ${d} turned and was not told of`)
      }
    }
  }
})

test('a reel that has grown is the reel of the whole course, whatever it was wound to', () => {
  for (let seed = 1; seed <= 60; seed++) {
    const turns = course(seed, 9, 70)
    const roll = dice(seed + 2000)
    let n = Math.floor(roll() * 40)
    let reel = new Reel(9, turns.slice(0, n))
    while (n < turns.length) {
      reel.wind(Math.floor(roll() * 480) - 20)
      n = Math.min(turns.length, n + 1 + Math.floor(roll() * 9))
      reel = reel.grown(9, turns.slice(0, n))
      const at = Math.floor(roll() * 480) - 20
      reel.wind(at)
      for (let d = 0; d < 9; d++) assert.deepEqual([reel.state[d], reel.signs[d]], slow(turns.slice(0, n), d, at), `seed ${seed}, device ${d} at ${at} of ${n}`)
    }
  }
  const wider = new Reel(1, [[10, 0, 1, 0, '']]).grown(2, [[10, 0, 1, 0, ''], [10, 1, 2, 0, 'd']])
  wider.wind(10)
  assert.deepEqual([...wider.state, ...wider.signs], [1, 2, 0, SIGNS.dark])
})

test('what is new in a course goes after what is here', () => {
  const had = { mark: 'm1', after: '', known: 'everything', devices: ['a'], turns: [[1, 0, 1, 0, '']], marks: [] }
  const next = growingCourse.joined(had, { mark: 'm2', after: 'm1', known: 'everything', devices: [], turns: [[2, 0, 2, 0, '']], marks: [] })
  assert.deepEqual(next.turns, [[1, 0, 1, 0, ''], [2, 0, 2, 0, '']])
  assert.equal(next.devices, had.devices, 'the very same list')
  assert.equal(growingCourse.joined(next, { ...next, after: 'm2', devices: [], turns: [] }), next, 'nothing new')
  const whole = { ...next, after: '', mark: 'm3', turns: [] }
  assert.equal(growingCourse.joined(next, whole), whole, 'something is not so any more')
})

test('a wait that ends is a turn of its own, unless something came before', () => {
  const reel = new Reel(2, [[10, 0, 2, 20, ''], [10, 1, 2, 20, ''], [15, 1, 4, 0, '']])
  assert.deepEqual(reel.wind(19).sort(), [0, 1])
  assert.deepEqual([...reel.state], [2, 4])
  assert.deepEqual(reel.wind(20), [0])
  assert.deepEqual([...reel.state], [3, 4])
  assert.deepEqual(reel.wind(19), [0])
  assert.deepEqual([...reel.state], [2, 4])
})

test('turns of one instant count in the order they are told', () => {
  const reel = new Reel(1, [[10, 0, 1, 0, ''], [10, 0, 2, 0, 'd']])
  reel.wind(10)
  assert.deepEqual([reel.state[0], reel.signs[0]], [2, SIGNS.dark])
  reel.wind(9)
  assert.equal(reel.state[0], ABSENT)
})

test('each letter is a sign of its own', () => {
  const letters = { s: 'struck', d: 'dark', h: 'hold', k: 'skipped', r: 'refused', m: 'missed', f: 'fault', g: 'gone' }
  for (const [letter, sign] of Object.entries(letters)) assert.equal(signsOf(letter), SIGNS[sign])
  assert.equal(new Set(Object.values(SIGNS)).size, 8)
  assert.equal(signsOf('dkz'), SIGNS.dark | SIGNS.skipped)
})

test('winding a little tells of few devices', () => {
  const turns = Array.from({ length: 2000 }, (_, i) => [i, i, 1, 0, ''])
  const reel = new Reel(2000, turns)
  reel.wind(1000)
  assert.deepEqual(reel.wind(1003), [1001, 1002, 1003])
  assert.deepEqual(reel.wind(1001), [1003, 1002])
})

test('a timeline goes forwards and comes back to the same moment', () => {
  const hour = 3_600_000
  for (let seed = 1; seed <= 20; seed++) {
    const roll = dice(seed)
    const instants = Array.from({ length: 40 }, () => Math.floor(roll() * 5) * 24 * hour + Math.floor(roll() * 8 * hour))
    const line = new Timeline(0, 5 * 24 * hour, instants)
    let last = -1
    for (let i = 0; i <= 200; i++) {
      const u = i / 200
      const at = line.time(u)
      assert.ok(at >= last, 'time never runs back')
      last = at
      assert.ok(Math.abs(line.place(at) - u) < 1e-9, `seed ${seed} at ${u}`)
    }
    assert.deepEqual([line.place(-1), line.place(0), line.place(5 * 24 * hour)], [0, 0, 1])
  }
})

test('a night takes no more room than a quarter of an hour', () => {
  const min = 60_000
  const at = [...Array(61).keys()].map((i) => i * min)
  const line = new Timeline(0, 24 * 60 * min, [...at, 23 * 60 * min])
  const night = line.spans.find((s) => s.quiet)
  assert.deepEqual([night.from, night.to], [60 * min, 23 * 60 * min])
  assert.ok(Math.abs((night.u1 - night.u0) / (line.place(15 * min) - line.place(0)) - 1) < 1e-9)
})

test('steps go to the next moment that matters, and to none beyond the last', () => {
  const stops = [10, 20, 30]
  assert.deepEqual([stepFrom(stops, 10, 1), stepFrom(stops, 10, -1), stepFrom(stops, 15, -1), stepFrom(stops, 30, 1)], [20, undefined, 10, undefined])
})

test('screen and site turn into each other', () => {
  const roll = dice(5)
  const size = { w: 800, h: 500 }
  for (let i = 0; i < 200; i++) {
    const v = { x: roll() * 1e5 - 5e4, y: roll() * 1e5, scale: 0.001 + roll() * 0.1 }
    const [x, y] = [roll() * 1e5, roll() * 1e5]
    const [px, py] = view.toScreen(v, size, x, y)
    const [bx, by] = view.toSite(v, size, px, py)
    assert.ok(Math.hypot(bx - x, by - y) < 1e-6)
  }
  const v = { x: 0, y: 0, scale: 0.01 }
  assert.ok(view.toScreen(v, size, 0, 1000)[1] < view.toScreen(v, size, 0, 0)[1], 'north is up')
})

test('zooming leaves what is under the finger where it is, panning takes it along', () => {
  const size = { w: 360, h: 400 }
  const v = { x: 12_000, y: 7_000, scale: 0.02 }
  const under = view.toSite(v, size, 90, 310)
  const z = view.zoomAt(v, size, 90, 310, 1.7)
  assert.equal(z.scale, 0.02 * 1.7)
  const [px, py] = view.toScreen(z, size, ...under)
  assert.ok(Math.hypot(px - 90, py - 310) < 1e-9)
  const [qx, qy] = view.toScreen(view.pan(v, 25, -40), size, ...under)
  assert.ok(Math.hypot(qx - 115, qy - 270) < 1e-9)
})

test('a floor that is shown whole is inside the margins', () => {
  for (const box of [{ minX: -5e3, minY: 0, maxX: 60e3, maxY: 9e3 }, { minX: 0, minY: 0, maxX: 0, maxY: 0 }, { minX: 0, minY: -9e4, maxX: 1e3, maxY: 9e4 }]) {
    const size = { w: 360, h: 300 }
    const v = view.fit(box, size, 28)
    for (const [x, y] of [[box.minX, box.minY], [box.maxX, box.maxY]]) {
      const [px, py] = view.toScreen(v, size, x, y)
      assert.ok(px >= 27.99 && px <= 332.01 && py >= 27.99 && py <= 272.01, `${px} ${py}`)
    }
  }
})

test('a picture that is moved along lies where it would be drawn anew', () => {
  const size = { w: 700, h: 500 }
  const from = { x: 4e3, y: 2e3, scale: 0.02 }
  const to = { x: 9e3, y: -1e3, scale: 0.031 }
  const { k, dx, dy } = view.shift(from, to, size)
  for (const at of [[0, 0], [12e3, 5e3], [-3e3, 8e3]]) {
    const [px, py] = view.toScreen(from, size, ...at)
    const [qx, qy] = view.toScreen(to, size, ...at)
    assert.ok(Math.hypot(px * k + dx - qx, py * k + dy - qy) < 1e-9)
  }
})

test('neighbours do not touch where there is room, and marks stay visible where there is none', () => {
  for (const scale of [0.001, 0.005, 0.01, 0.02, 0.05]) {
    const r = view.radiusAt(scale, 1600)
    assert.ok(view.RADII.includes(r))
    if (r > view.RADII[0]) assert.ok(2 * r < 1600 * scale)
  }
  assert.equal(view.radiusAt(1e-5, 1600), view.RADII[0])
})

test('the scale bar is round and fits', () => {
  for (let scale = 0.0003; scale < 0.5; scale *= 1.3) {
    const m = view.barOf(scale, 110)
    assert.ok(m * 1000 * scale <= 110.0001 && m * 1000 * scale > 110 / 3, `${m} at ${scale}`)
    assert.match(String(Number(m.toPrecision(3))), /^(0\.0*)?[125]0*$/)
  }
})

test('a tap takes the nearest, within a finger, and the next one when tapped again', () => {
  const roll = dice(9)
  const size = { w: 600, h: 400 }
  const v = { x: 5000, y: 5000, scale: 0.04 }
  const things = Array.from({ length: 300 }, (_, i) => ({ i, x: roll() * 15_000 - 2_500, y: roll() * 10_000 }))
  for (let n = 0; n < 200; n++) {
    const [px, py] = [roll() * 600, roll() * 400]
    const far = (t) => { const [x, y] = view.toScreen(v, size, t.x, t.y); return Math.hypot(x - px, y - py) }
    const want = things.filter((t) => far(t) <= 24).sort((a, b) => far(a) - far(b))
    const found = pick(things, v, size, px, py)
    assert.deepEqual(found.map((t) => t.i), want.map((t) => t.i))
    assert.equal(after(found, () => false), want[0])
    if (want.length > 1) {
      assert.equal(after(found, (t) => t === want[0]), want[1])
      assert.equal(after(found, (t) => t === want.at(-1)), want[0])
    }
  }
})

test('tags on paper cover neither marks nor each other where there is room', () => {
  const roll = dice(21)
  const over = (a, b) => Math.abs(a.x - b.x) * 2 < a.w + b.w - 1e-9 && Math.abs(a.y - b.y) * 2 < a.h + b.h - 1e-9
  let held = 0
  for (let n = 0; n < 60; n++) {
    const marks = Array.from({ length: 40 }, () => [roll() * 120, roll() * 120])
    const wides = marks.map(() => 4 + roll() * 6)
    const rects = labels(marks, marks.map(() => 1.5), wides, 2).map((l, i) => ({ ...l, w: wides[i], h: 2 }))
    const boxes = marks.map(([x, y]) => ({ x, y, w: 2.7, h: 2.7 }))
    rects.forEach((a, i) => {
      const below = { x: marks[i][0], y: marks[i][1] + 1.65 + 1.1, w: wides[i], h: 2 }
      const clash = boxes.some((b) => over(a, b)) || rects.some((b, j) => j < i && over(a, b))
      if (clash) assert.deepEqual([a.x, a.y], [below.x, below.y], 'it is below where nothing is free')
      else held++
    })
  }
  assert.ok(held > 60 * 40 * 0.97, `${held} of ${60 * 40} are free`)
})

test('an outline goes around all points and turns one way', () => {
  const roll = dice(3)
  for (let n = 0; n < 40; n++) {
    const points = Array.from({ length: 3 + Math.floor(roll() * 30) }, () => [Math.floor(roll() * 50), Math.floor(roll() * 50)])
    const h = hull(points)
    const left = (a, b, p) => (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
    h.forEach((a, i) => { for (const p of points) assert.ok(h.length < 3 || left(a, h[(i + 1) % h.length], p) >= 0) })
    for (const p of h) assert.ok(points.some((q) => q[0] === p[0] && q[1] === p[1]))
  }
  assert.deepEqual(hull([[1, 1]]), [[1, 1]])
})

test('a photo laid by two points has them where they were said to be', () => {
  const roll = dice(11)
  for (let n = 0; n < 100; n++) {
    const a = [roll() * 2000, roll() * 2000]
    const b = [a[0] + 300 + roll() * 500, a[1] - 200 + roll() * 800]
    const [atA, atB] = [[roll() * 5e4, roll() * 5e4], [roll() * 5e4, roll() * 5e4]]
    const s = byPlaces(a, b, atA, atB)
    const off = (p, q) => Math.hypot(p[0] - q[0], p[1] - q[1])
    const slack = 2 + Math.hypot(atA[0] - atB[0], atA[1] - atB[1]) * 0.0001 + 2000 * 0.0005 * 1.5 // the corner is whole mm, a pixel whole µm
    assert.ok(off(onSite(s, ...a), atA) < slack, `A is off by ${off(onSite(s, ...a), atA)}`)
    assert.ok(off(onSite(s, ...b), atB) < slack + 1, `B is off by ${off(onSite(s, ...b), atB)}`)
    assert.ok(Math.abs(s.turn_mdeg) <= 180_000)
  }
})

test('a photo that is not turned lies right and down from its corner', () => {
  const s = byDistance([100, 100], [1100, 100], 20_000, [0, 0], 0)
  assert.deepEqual(s, { corner_mm: [-2000, 2000], pixel_um: 20_000, turn_mdeg: 0 })
  assert.deepEqual(onSite(s, 100, 600).map(Math.round), [0, -10_000])
  const t = byDistance([0, 0], [1000, 0], 10_000, [5000, 5000], 90_000)
  assert.deepEqual(onSite(t, 1000, 0).map(Math.round), [5000, 15_000], 'a quarter turn anticlockwise points up')
})

const device = (tag, floor, place, more = {}) => ({ tag, floor, room: '', hub: 'H1', kind: 'driver', radio: 'mesh', router: true, circuit: '', emergency: false, struck: false, place_mm: place, accuracy_mm: 0, ...more })
const layout = {
  floors: [{ id: '1', level: 1, elevation_mm: 3600 }, { id: '2', level: 2, elevation_mm: 7200 }],
  rooms: [], walls: [{ floor: '1', material: 'brick', thickness_mm: 100, line_mm: [[-4000, 0], [-4000, 9000]] }],
  drawings: [{ floor: '1', sha256: 'old' }, { floor: '1', sha256: 'new' }],
  hubs: [{ id: 'H1', floor: '1', room: '', place_mm: [0, 0, 6000] }],
  devices: [device('a', '1', [1000, 0, 6000], { room: '1.1' }), device('b', '1', [3000, 0, 6000], { room: '1.1' }), device('c', '2', [3000, 500, 9600]), device('d', '2', null), device('e', '', null)],
}

test('a floor is what stands on it', () => {
  const f = floorOf(layout, '1', new Map([['a', 7]]))
  assert.deepEqual(f.spots.map((s) => [s.tag, s.course]), [['a', 7], ['b', -1]])
  assert.deepEqual(f.box, { minX: -4000, minY: 0, maxX: 3000, maxY: 9000 })
  assert.equal(f.drawing.sha256, 'new')
  assert.deepEqual(f.rooms, [{ id: '1.1', x: 2000, y: 0 }])
  assert.equal(f.apart, 2000)
  assert.deepEqual(floorsOf(layout), ['1', '2', ''])
  assert.deepEqual(floorOf(layout, '2', new Map()).unplaced.map((d) => d.tag), ['d'])
  assert.equal(drawn(floorOf(layout, '', new Map())), false)
})

test('nothing of a path is drawn whose ends are not both known and on the floor', () => {
  const places = placesOf(layout)
  assert.deepEqual(legs(['b', 'a', 'H1'], places, '1'), [[[3000, 0], [1000, 0]], [[1000, 0], [0, 0]]])
  assert.deepEqual(legs(['c', 'b', 'H1'], places, '1'), [[[3000, 0], [0, 0]]])
  assert.deepEqual(legs(['d', 'H1'], places, '1'), [])
  assert.deepEqual(legs(['c', 'd'], places, '2'), [], 'on the floor, and nobody knows where')
  assert.deepEqual(legs(['nobody', 'a'], places, '1'), [])
})

const way = (tag, path, ok = 'yes', basis = 'predicted') => ({ tag, hub: 'H1', ok, basis, hops: Math.max(0, path.length - 1), path, margin_cdb: null, probability_ppm: null, disjoint: null, why: '' })
const words = (key, fill = {}) => `${key}${fill.n ?? ''}`

test('picture and list say the same of an answer', () => {
  const f = floorOf(layout, '1', new Map())
  const reach = {
    devices: [way('b', ['b', 'a', 'H1']), way('c', ['c', 'b', 'H1'], 'unknown')], islands: [{ hub: 'H1', devices: ['a', 'c'], sure: false, why: '' }],
    single_points: [{ id: 'a', kind: 'device', hub: 'H1', strands: ['b'] }, { id: 'b', kind: 'circuit', hub: 'H1', strands: ['a'] }],
    change: { lost: ['b'], gained: [], weaker: [], shaken: ['c'], doubtful: [], dark: ['a'] }, notes: [],
  }
  const s = sceneOf(f, placesOf(layout), reach, 'b', { islands: true, single: true }, words, (x) => `to ${x}`)
  assert.deepEqual(s.path, { legs: [[[3000, 0], [1000, 0]], [[1000, 0], [0, 0]]], home: true, sure: 'likely', end: null, words: '' })
  assert.deepEqual(s.islands, [{ points: [[1000, 0]], sure: false, words: 'island2' }])
  assert.deepEqual(s.rings.map((r) => [r.at[0], r.ring]), [[1000, 'single'], [3000, 'lost'], [1000, 'dark'], [3000, 'chosen']])
  assert.deepEqual(Object.fromEntries(notesOf(reach, words)), { a: ['island2', 'single1', 'dark'], b: ['lost'], c: ['island2', 'shaken'] })
  const plain = sceneOf(f, placesOf(layout), { ...reach, change: undefined }, '', { islands: false, single: false }, words, String)
  assert.deepEqual([plain.islands, plain.rings, plain.path], [[], [], null], 'what is not asked for is not shown')
  const up = sceneOf(floorOf(layout, '2', new Map()), placesOf(layout), reach, 'c', { islands: false, single: false }, words, (x) => `to ${x}`)
  assert.deepEqual(up.path, { legs: [], home: false, sure: 'possible', end: [3000, 500], words: 'to 1' })
  assert.equal(sceneOf(f, placesOf(layout), null, 'b', { islands: true, single: true }, words, String).path, null)
})
