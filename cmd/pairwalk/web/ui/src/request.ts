// The one way from the page to the process. Whatever serves the page (a process on
// this machine today, the same code in a worker of the browser another day) stands
// behind request(); nothing else in the page calls fetch.

// Refused is an answer of the process: it was reached, and it said no.
export class Refused extends Error {
  constructor(message: string, readonly status: number) {
    super(message)
  }
}

// Unreached means that nobody answered: what was asked may be asked again.
export class Unreached extends Error {}

export interface Ask {
  query?: Record<string, string | number | boolean | undefined>
  json?: unknown
  bytes?: Blob
  signal?: AbortSignal
  doer?: string // who is speaking, where that is not the member
  unless?: string // the ETag of an answer that is here: no other is sent while that is the same
}

// speaking is asked for the doer of whatever does not name one; see state.
let speaking = (): string => ''
export function setSpeaking(f: () => string): void { speaking = f }

const TOKEN = 'pairwalk.token'

// takeToken keeps the token that the printed address brings, takes it out of the
// address bar, and says whether there was one.
export function takeToken(): boolean {
  const found = /^#t=([A-Za-z0-9_-]+)/.exec(location.hash)
  if (!found) return false
  localStorage.setItem(TOKEN, found[1]!)
  history.replaceState(null, '', location.pathname + '#/now')
  return true
}

export const hasToken = (): boolean => localStorage.getItem(TOKEN) !== null

export async function request(method: 'GET' | 'POST', path: string, ask: Ask = {}): Promise<Response> {
  const query = new URLSearchParams()
  for (const [key, value] of Object.entries(ask.query ?? {})) {
    if (value !== undefined && value !== '' && value !== false) query.set(key, String(value))
  }
  const text = query.toString()
  const headers: Record<string, string> = { Authorization: `Bearer ${localStorage.getItem(TOKEN) ?? ''}` }
  const doer = method === 'POST' ? (ask.doer ?? speaking()) : ''
  if (doer) headers['X-Pairwalk-Doer'] = encodeURIComponent(doer)
  if (ask.unless) headers['If-None-Match'] = ask.unless
  let body: BodyInit | undefined
  if (ask.json !== undefined) {
    headers['Content-Type'] = 'application/json'
    body = JSON.stringify(ask.json)
  } else if (ask.bytes) {
    headers['Content-Type'] = ask.bytes.type || 'application/octet-stream'
    body = ask.bytes
  }
  let answer: Response
  try {
    answer = await fetch(`/api/${path}${text && `?${text}`}`, { method, headers, body, signal: ask.signal, cache: 'no-store' })
  } catch (problem) {
    if (ask.signal?.aborted) throw problem
    throw new Unreached(path)
  }
  if (!answer.ok && answer.status !== 304) {
    const words = await answer.json().then((doc) => String(doc.error), () => answer.statusText)
    throw new Refused(words, answer.status)
  }
  return answer
}

export async function get<T>(path: string, query?: Ask['query'], signal?: AbortSignal): Promise<T> {
  return (await request('GET', path, { query, signal })).json() as Promise<T>
}

export async function post<T>(path: string, json: unknown, query?: Ask['query']): Promise<T> {
  return (await request('POST', path, { json, query })).json() as Promise<T>
}

export async function send<T>(path: string, bytes: Blob, query?: Ask['query']): Promise<T> {
  return (await request('POST', path, { bytes, query })).json() as Promise<T>
}
