// What of a room's tests is shown how, and whom a check is of.
import type { CheckRoom, CheckTest } from '../api_callback'

// split parts a room's tests: whether paired devices answer is one line, however
// many there are; each other test is a card, those that want somebody first.
export function split(room: CheckRoom): { cards: CheckTest[]; silent: string[]; answered: number } {
  const answers = room.tests.filter((x) => x.test === 'answer' && x.from === 'schedule')
  const rank = (x: CheckTest): number => (x.state === 'failed' && x.owed ? 0 : x.owed && !x.waits ? 1 : x.owed ? 2 : 3)
  return {
    cards: room.tests.filter((x) => !answers.includes(x)).sort((a, b) => rank(a) - rank(b)),
    silent: answers.filter((x) => x.owed).map((x) => x.of),
    answered: answers.filter((x) => !x.owed).length,
  }
}

// among are the devices of which one must be named: of several occupant sensors
// a check of their room does not tell which one saw somebody.
export function among(x: CheckTest): string[] {
  return (x.test === 'occupancy' || x.test === 'vacancy') && x.devices.length > 1 && !x.of.startsWith('device:') ? x.devices : []
}

// limitWords is what a result was held against, as it is recorded.
export const limitWords = (x: CheckTest): string => x.limits.map((l) => l.words).join('; ')
