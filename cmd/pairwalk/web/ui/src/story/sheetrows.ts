// The rows of a field sheet: what was written on paper, as it was typed or pasted.

export const COLUMNS = ['tag', 'what', 'when', 'serial', 'note', 'by'] as const
export type Column = (typeof COLUMNS)[number]
export type Row = Record<Column, string>

export const emptyRow: Row = { tag: '', what: '', when: '', serial: '', note: '', by: '' }
// What and by are carried from row to row, so that alone they say nothing.
export const isEmpty = (r: Row): boolean => COLUMNS.every((c) => c === 'what' || c === 'by' || r[c].trim() === '')

// What may be done to a device in a sheet, and which of it asks for a reason out of
// a list; the words are those that the process takes.
export const VERBS = ['paired', 'fitted', 'refused', 'skipped', 'heard', 'unpaired', 'replaced', 'fault', 'note', 'power-off', 'power-on', 'hold', 'lift'] as const

// sent is a row as the process takes it: the reason stands before the note.
export function sent(r: Row): Row {
  const [what = '', why] = r.what.split(':')
  const note = r.note.trim()
  const whole = why ? (note ? `${why}: ${note}` : why) : note
  return { tag: r.tag.trim(), what, when: r.when.trim(), serial: r.serial.trim(), note: whole, by: r.by.trim() }
}

const SPELLINGS: Record<string, string> = {
  pair: 'paired', fit: 'fitted', refuse: 'refused', skip: 'skipped', hear: 'heard', unpair: 'unpaired', replace: 'replaced',
  'power off': 'power-off', 'power on': 'power-on', off: 'power-off', on: 'power-on',
}

// readWhat finds the act that a pasted cell means, with its reason; what it cannot
// find stays as it was written, and the process says what it would take.
export function readWhat(text: string, reasons: Record<string, string[]>): string {
  const [head = '', tail = ''] = text.trim().toLowerCase().split(/\s*:\s*/, 2)
  const verb = (VERBS as readonly string[]).includes(head) ? head : SPELLINGS[head] ?? ''
  if (!verb) return text.trim()
  const why = reasons[verb]?.find((w) => w === tail.replaceAll(' ', '-'))
  return why ? `${verb}:${why}` : verb
}

// Headings of a pasted sheet, in the spellings that the process knows too.
const HEADS: Record<Column, RegExp> = {
  tag: /^(tag|position|mark|device|device tag)$/, what: /^(what|action|done)$/, when: /^(when|time|at)$/,
  serial: /^(serial|serial number|serial no|s\/n)$/, note: /^(notes?|why|remarks?|comments?)$/, by: /^(by|who|technician)$/,
}

const headOf = (cell: string): Column | undefined => COLUMNS.find((c) => HEADS[c].test(cell.trim().toLowerCase()))

// pasted reads cells out of a spreadsheet: under their own headings if they have
// any, else from the column they were pasted into.
export function pasted(text: string, from: Column, reasons: Record<string, string[]>): Partial<Row>[] {
  const lines = text.replace(/\r\n?/g, '\n').replace(/\n+$/, '').split('\n').map((l) => l.split('\t'))
  const heads = lines[0]!.map(headOf)
  const named = heads.filter(Boolean).length >= 2
  const order: (Column | undefined)[] = named ? heads : COLUMNS.slice(COLUMNS.indexOf(from))
  return (named ? lines.slice(1) : lines).filter((cells) => cells.some((c) => c.trim())).map((cells) => {
    const row: Partial<Row> = {}
    cells.forEach((cell, i) => {
      const column = order[i]
      if (column) row[column] = column === 'what' ? readWhat(cell, reasons) : cell.trim()
    })
    return row
  })
}

// problemsOf puts what the process says under the rows it says it about. Its row 1
// is the heading; and empty rows were not sent.
export function problemsOf(lines: string[], at: number[]): { rows: Map<number, string[]>; rest: string[] } {
  const rows = new Map<number, string[]>()
  const rest: string[] = []
  for (const line of lines) {
    const found = /^row (\d+)(?:, column ([^:]*))?: (.*)$/s.exec(line)
    const row = found ? at[Number(found[1]) - 2] : undefined
    if (!found || row === undefined) rest.push(line)
    else rows.set(row, [...(rows.get(row) ?? []), found[2] ? `${found[2]}: ${found[3]}` : found[3]!])
  }
  return { rows, rest }
}
