import assert from 'node:assert/strict'
import test from 'node:test'
import { bundled } from './bundle.mjs'

const { alone } = await bundled('src/words/alone.ts')

test('a name that turns the writing is set apart, and closes all that it opens', () => {
  for (const name of ['Ben \u202e gnol', 'a\u2066b\u2067c', '\u2069\u2069x\u202b', '\u202d1\u2069']) {
    const set = alone(name)
    assert.equal(set[0], '\u2068')
    assert.equal(set.at(-1), '\u2069')
    let depth = 0
    for (const [at, c] of [...set].entries()) {
      if (c >= '\u2066' && c <= '\u2068') depth++
      if (c === '\u2069') depth--
      assert.ok(depth > 0 || at === [...set].length - 1, 'it ends at its end, and not before')
    }
    assert.equal(depth, 0)
  }
})

test('any other name stays as it is', () => {
  for (const name of ['Ben', '', 'שלום', '2-114', '🙂 é']) assert.equal(alone(name), name)
})
