// How an outcome is recorded: what the process says as command lines, as ways of
// the page where it has one.
export interface Todo {
  line: string // the command, for whoever works by it
  act?: string // the form that opens
  of?: string // and what it is about
  href?: string // where that is
  says?: 'settle' | 'records' | 'import' | 'trouble' | 'fault' | 'withdraw'
}

// The forms of a subject, by the verb of the command that records the same.
const FORMS: Record<string, string> = {
  'power-on': 'on', 'power-off': 'off', heard: 'heard', paired: 'paired', unpaired: 'unpaired', replaced: 'replaced', pushed: 'pushed', ready: 'ready',
  loaded: 'loaded', channel: 'channel', lost: 'lost', lift: 'lift', hold: 'hold', check: 'check', fault: 'fault', note: 'note',
}
const MANY = new Set(['heard', 'paired', 'power-on']) // verbs that take a list of tags
const MOST = 6 // of a list

// parted is a line's words as a shell parts them.
export function parted(line: string): string[] {
  const words = line.match(/(?:[^\s"'\\]|\\.|"[^"]*"|'[^']*')+/g) ?? []
  return words.map((w) => w.replace(/\\(.)|"([^"]*)"|'([^']*)'/g, (_, one = '', two = '', three = '') => `${one}${two}${three}`))
}

const story = (of: string, ref: string): string => `#/story?subject=${encodeURIComponent(of)}&entry=${encodeURIComponent(ref)}`

// todos are the ways to record what a line records. A line that the page has no way
// for stays a line.
export function todos(line: string, cause: { subject: string; events: string[] }): Todo[] {
  const [, verb = '', what = '', of = ''] = parted(line)
  const to = (says: Todo['says'], href: string): Todo[] => [{ line, says, href }]
  if (verb === 'settle') return to('settle', '#/now')
  if (verb === 'merge' || (verb === 'log' && what === 'merged')) return to('records', '#/site?part=records')
  if (verb === 'import') return to('import', '#/site?part=import')
  if (verb === 'conflicts' || verb === 'resolve') return to('trouble', `#/trouble?subject=${encodeURIComponent(cause.subject)}`)
  if (verb === 'void' && cause.events[0]) return to('withdraw', story(cause.subject, cause.events[0]))
  if (verb === 'log' && (what === 'assigned' || what === 'cleared') && cause.events[0]) return to('fault', `#/trouble?fault=${encodeURIComponent(cause.events[0])}`)
  const act = verb === 'log' ? FORMS[what] : undefined
  if (!act || !of || of === 'WHAT') return [{ line }]
  const list = MANY.has(what) && !of.includes(':') ? of.split(',').filter(Boolean) : [of]
  return list.slice(0, MOST).map((x) => {
    const subject = x.includes(':') ? x : cause.subject.endsWith(`:${x}`) ? cause.subject : `${HUBS.has(act) ? 'hub' : 'device'}:${x}`
    return { line, act, of: subject, href: `#/now?subject=${encodeURIComponent(subject)}&act=${act}` }
  })
}

const HUBS = new Set(['pushed', 'ready', 'loaded', 'channel', 'lost'])

// unlike takes out what comes twice: two lines may lead to one form.
export function unlike(list: Todo[]): Todo[] {
  return list.filter((x, i) => list.findIndex((y) => (x.href ? y.href === x.href : y.line === x.line)) === i)
}

// ranked parts a cause's words from why it ranks where it does.
export function ranked(words: string): [what: string, why: string] {
  const m = /^(.*\S)\s+\(([^()]*(?:\([^()]*\)[^()]*)*)\)$/s.exec(words)
  return m ? [m[1]!, m[2]!] : [words, '']
}
