// The one stream of changes: it says how things stand whenever the log or the team
// has moved, and that the process is there at all.
import { batch } from '@preact/signals'
import type { Hello, Strip } from './api'
import { flush } from './outbox'
import { get, Refused, request, Unreached } from './request'
import { calls, hello, reached, setClock, stranger, strip, version } from './state'

interface Change extends Strip { page: string; now: string }

// follow keeps the stream open for good. When it breaks it asks again, at most
// every two seconds, and at once when the page is looked at.
export async function follow(): Promise<void> {
  for (;;) {
    try {
      const first = await get<Hello>('hello')
      stranger.value = false
      fresh(first.page)
      setClock(first.now)
      hello.value = first
      calls.value += 1
      await listen()
    } catch (problem) {
      if (problem instanceof Refused && problem.status === 401) stranger.value = true
      reached.value = false
      await pause()
    }
  }
}

// fresh reloads a page that is older than the process. Drafts are in the browser's
// storage and survive that.
function fresh(page: string): void {
  const own = document.querySelector<HTMLMetaElement>('meta[name=pairwalk-page]')?.content
  if (own && page && page !== own) location.reload()
}

// A browser opens only a handful of streams to one place, and one for each tab in
// the background would stop the one in front: a tab out of sight lets go of its
// own after a while, and asks anew when it is looked at.
const unseen = 20_000

// listen takes changes until the stream ends, or the tab has been out of sight.
async function listen(): Promise<void> {
  const stop = new AbortController()
  let timer: ReturnType<typeof setTimeout> | undefined
  const look = (): void => {
    clearTimeout(timer)
    if (document.hidden) timer = setTimeout(() => stop.abort(), unseen)
  }
  addEventListener('visibilitychange', look)
  look()
  try {
    await read(await request('GET', 'changes', { signal: stop.signal }))
  } catch (problem) {
    if (!stop.signal.aborted) throw problem
    await seen()
  } finally {
    clearTimeout(timer)
    removeEventListener('visibilitychange', look)
  }
}

async function read(answer: Response): Promise<void> {
  const reader = answer.body!.pipeThrough(new TextDecoderStream()).getReader()
  let rest = ''
  for (;;) {
    const { value, done } = await reader.read()
    if (done) throw new Unreached('changes')
    rest += value
    const parts = rest.split('\n\n')
    rest = parts.pop()!
    for (const part of parts) {
      const data = /^data: (.*)$/m.exec(part)
      if (data) take(JSON.parse(data[1]!) as Change)
    }
  }
}

function seen(): Promise<void> {
  return new Promise((done) => {
    const look = (): void => {
      if (document.hidden) return
      removeEventListener('visibilitychange', look)
      done()
    }
    addEventListener('visibilitychange', look)
    look()
  })
}

function take(change: Change): void {
  fresh(change.page)
  setClock(change.now)
  const was = strip.value
  const grew = change.entries !== was?.entries || change.pictures_away !== was.pictures_away || !reached.value
  batch(() => {
    strip.value = change
    if (grew) version.value += 1
  })
  reached.value = true
  void flush()
}

function pause(): Promise<void> {
  return new Promise((done) => {
    const timer = setTimeout(end, 1500)
    function end(): void {
      clearTimeout(timer)
      removeEventListener('focus', end)
      removeEventListener('online', end)
      done()
    }
    addEventListener('focus', end)
    addEventListener('online', end)
  })
}
