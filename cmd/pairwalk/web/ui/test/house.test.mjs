// What must hold of every source of the page, and no reader would see break.
import assert from 'node:assert/strict'
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import test from 'node:test'

const src = new URL('../src/', import.meta.url).pathname

function sources(dir = src) {
  return readdirSync(dir, { withFileTypes: true }).flatMap((x) => {
    const path = join(dir, x.name)
    if (x.isDirectory()) return sources(path)
    return /\.(ts|tsx)$/.test(x.name) ? [{ name: path.slice(src.length), text: readFileSync(path, 'utf8') }] : []
  })
}

const all = sources()

test('there are sources to look at', () => assert.ok(all.length > 60))

test('only request.ts asks the process', () => {
  const others = all.filter((f) => f.name !== 'request.ts' && /\b(fetch|EventSource|XMLHttpRequest|WebSocket|sendBeacon)\b\s*\(/.test(f.text))
  assert.deepEqual(others.map((f) => f.name), [])
})

test('what the log says is never taken for markup', () => {
  const risky = all.filter((f) => /innerHTML|outerHTML|insertAdjacentHTML|dangerouslySet|document\.write|\beval\(|new Function/.test(f.text))
  assert.deepEqual(risky.map((f) => f.name), [])
})

test('nothing is loaded from anywhere else', () => {
  const remote = all.filter((f) => /(?:from|import)\s*\(?\s*['"]https?:|src=["']https?:/.test(f.text))
  assert.deepEqual(remote.map((f) => f.name), [])
})

test('no file outgrows a reader', () => {
  const long = all.filter((f) => !f.name.startsWith('words/') && f.text.split('\n').length > 400)
  assert.deepEqual(long.map((f) => f.name), [])
})

test('both languages say the same things, with the same gaps', () => {
  for (const f of all.filter((x) => /export const en\b/.test(x.text))) {
    const [en, de] = f.text.split(/export const de\b/)
    const said = (half) => new Map([...half.matchAll(/'([\w.-][\w. -]*)':\s*(['"`])((?:\\.|(?!\2).)*)\2/g)].map((m) => [m[1], [...new Set(m[3].match(/\{\w+\}/g) ?? [])].sort().join()]))
    const [one, other] = [said(en), said(de ?? '')]
    for (const [key, gaps] of one) assert.equal(other.get(key), gaps, `${f.name}: ${key}`)
  }
})
