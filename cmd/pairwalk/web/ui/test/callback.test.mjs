import assert from 'node:assert/strict'
import test from 'node:test'
import { bundled } from './bundle.mjs'

const { parted, todos, unlike, ranked } = await bundled('src/callback/record.ts')
const { grouped } = await bundled('src/callback/group.ts')
const { split, among, limitWords } = await bundled('src/handing/tests.ts')
const { sizeWords } = await bundled('src/handing/size.ts')

const cause = { subject: 'circuit:C1-2', events: ['ref/16/ab', 'ref/17/cd'] }

test('a command line is parted as a shell parts it', () => {
  assert.deepEqual(parted('pairwalk log fault room:1.2 "WHAT IT IS" \'a b\''), ['pairwalk', 'log', 'fault', 'room:1.2', 'WHAT IT IS', 'a b'])
  assert.deepEqual(parted(`log lift 'it'\\''s'`), ['log', 'lift', "it's"])
  assert.deepEqual(parted(''), [])
})

test('a line that records something opens the form that records the same', () => {
  assert.deepEqual(todos('pairwalk log power-on circuit:C1-2', cause).map((x) => x.href), ['#/now?subject=circuit%3AC1-2&act=on'])
  assert.deepEqual(todos('pairwalk log heard 1-103,1-104', cause).map((x) => x.of), ['device:1-103', 'device:1-104'])
  assert.deepEqual(todos('pairwalk log pushed H1 --program PROGRAM --tried 1-1', cause)[0].href, '#/now?subject=hub%3AH1&act=pushed')
  assert.deepEqual(todos("pairwalk log lift 'C1-2'", cause)[0].of, 'circuit:C1-2', 'a bare name that is the cause’s is of its class')
  assert.equal(todos('pairwalk log heard ' + Array.from({ length: 40 }, (_, i) => `1-${i}`).join(), cause).length, 6, 'no wall of buttons')
})

test('a line leads to the screen that does it, and else stays a line', () => {
  assert.equal(todos('pairwalk void 2P0K6R --why did-not-happen   (if that entry is wrong)', cause)[0].href, '#/story?subject=circuit%3AC1-2&entry=ref%2F16%2Fab')
  assert.equal(todos('pairwalk log cleared 2P0K6R --action "WHAT"', cause)[0].href, '#/trouble?fault=ref%2F16%2Fab')
  assert.equal(todos('pairwalk merge out FILE', cause)[0].says, 'records')
  assert.equal(todos('pairwalk log merged H1', cause)[0].says, 'records')
  assert.equal(todos('pairwalk settle H1', cause)[0].says, 'settle')
  for (const line of ['pairwalk log measured 1-1 OTHER --rssi DBM', 'pairwalk reach --advise', 'pairwalk log heard', 'pairwalk log frobnicate 1-1']) assert.deepEqual(todos(line, cause), [{ line }])
  assert.deepEqual(todos('pairwalk void X', { subject: 'hub:H1', events: [] }), [{ line: 'pairwalk void X' }])
})

test('what leads to one form stands once', () => {
  const list = ['pairwalk merge out FILE', 'pairwalk log merged H1', 'pairwalk log heard 1-1'].flatMap((line) => todos(line, cause))
  assert.deepEqual(unlike(list).map((x) => x.says ?? x.act), ['records', 'heard'])
})

test('why a cause ranks is told apart from what it is', () => {
  assert.deepEqual(ranked('Circuit C1-2 is off. (It explains no-answer well.)'), ['Circuit C1-2 is off.', 'It explains no-answer well.'])
  assert.deepEqual(ranked('Off (says the log) since 3. (It may (or not).)'), ['Off (says the log) since 3.', 'It may (or not).'])
  assert.deepEqual(ranked('Nothing in brackets'), ['Nothing in brackets', ''])
})

const change = (name, event, more = {}) => ({ subject: `device:${name}`, name, what: 'power', before: 'on', after: 'dark', event, words: '', knew: [], not_known: [], ...more })

test('differences stand under their entry, and alike ones together', () => {
  const out = grouped([change('C1-2', 'a', { after: 'off' }), change('1-1', 'a'), change('1-2', 'a'), change('1-3', 'b'), change('1-4', '', { why: 'time went on' }), change('1-5', '', { why: 'time went on' })])
  assert.deepEqual(out.map((d) => d.alike.map((a) => a.names.join())), [['C1-2', '1-1,1-2'], ['1-3'], ['1-4,1-5']])
  assert.deepEqual(out.map((d) => d.event), ['a', 'b', ''])
})

const check = (name, more = {}) => ({ test: name, of: 'room:1', devices: [], from: 'schedule', limits: [], verify: [], state: 'owed', owed: true, results: [], cautions: [], why: '', ...more })

test('whether devices answer is one line; what wants somebody comes first', () => {
  const out = split({ tests: [
    check('manual', { state: 'passed', owed: false }), check('answer', { of: 'device:1-1' }), check('answer', { of: 'device:1-2', state: 'passed', owed: false }),
    check('egress', { waits: 'not paired' }), check('daylight'), check('vacancy', { state: 'failed' }), check('answer', { of: 'device:1-3', from: 'plan' }),
  ] })
  assert.deepEqual(out.cards.map((x) => x.test), ['vacancy', 'daylight', 'answer', 'egress', 'manual'])
  assert.deepEqual([out.silent, out.answered], [['device:1-1'], 1])
})

test('of several occupant sensors one is named', () => {
  assert.deepEqual(among(check('occupancy', { devices: ['1-1', '1-2'] })), ['1-1', '1-2'])
  assert.deepEqual(among(check('occupancy', { devices: ['1-1'] })), [])
  assert.deepEqual(among(check('occupancy', { of: 'device:1-1', devices: ['1-1', '1-2'] })), [])
  assert.deepEqual(among(check('egress', { devices: ['1-1', '1-2'] })), [])
  assert.equal(limitWords(check('egress', { limits: [{ words: 'a' }, { words: 'b' }] })), 'a; b')
})

test('sizes are rounded as people say them', () => {
  assert.deepEqual([0, 999, 1000, 123_456, 999_499, 999_500, 12_345_678].map(sizeWords), ['0 B', '999 B', '1 kB', '123 kB', '999 kB', '1.0 MB', '12.3 MB'])
})
