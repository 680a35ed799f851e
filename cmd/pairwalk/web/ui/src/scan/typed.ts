// What is typed is mostly a plain serial, and stays as it is. A scanner that types,
// or a person who copies a whole label, gives more; that is read as a label.

const PLAIN = /^[A-Za-z0-9][A-Za-z0-9./_-]{0,23}$/
const RUN = /[A-Za-z0-9]{21}/
const GROUPS = /^\d{4}\D\d{3}\D\d*$/ // as setup codes are printed

// isMore says whether typed text may be more than a plain serial, or an address in
// one of its ways of writing, or the beginning of a secret.
export function isMore(text: string): boolean {
  const all = text.trim()
  if (all === '') return false
  const bare = squeeze(all)
  return !PLAIN.test(all) || RUN.test(all) || GROUPS.test(all) ||
    (isHex(bare) && bare.length >= 12 && (bare.length > 15 || bare !== all || /[a-f]/i.test(bare)))
}

// mayStand says whether a text that the process doesn't take may still be recorded
// as a serial, if whoever typed it says that it is one: not if it looks like a
// secret. Where nobody judged it, 16 hex digits are an address.
export function mayStand(text: string, judged: boolean): boolean {
  const all = text.trim()
  const bare = squeeze(all)
  return all.length <= 24 && !/^mt:|:\/\/|[\n|]/i.test(all) && !GROUPS.test(all) && !(isHex(bare) && bare.length >= (judged ? 16 : 17))
}

const squeeze = (text: string): string => text.replace(/[-:._/\s]/g, '')
const isHex = (text: string): boolean => /^[0-9a-f]+$/i.test(text)
