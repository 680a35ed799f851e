const turns = /[\u202a-\u202e\u2066-\u2069]/

// alone keeps a name that turns the direction of writing from turning the rest of
// the sentence it stands in: it is set in an isolate, and whatever isolate it opens
// is closed with that (Unicode Standard Annex 9).
export function alone(value: string): string {
  if (!turns.test(value)) return value
  const set = `\u2068${value.replace(/\u2069/g, '')}`
  return set + '\u2069'.repeat(set.match(/[\u2066-\u2068]/g)!.length)
}
