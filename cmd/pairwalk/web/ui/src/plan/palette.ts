// The colours of the page, as the canvas needs them: read from the same tokens
// that everything else uses, and read again when the theme changes.

export interface Palette {
  dark: boolean
  ground: string; raised: string; line: string; edge: string; ink: string; soft: string
  act: string; good: string; warn: string; bad: string; sky: string; pink: string
  font: string
}

export function palette(): Palette {
  const style = getComputedStyle(document.documentElement)
  const token = (name: string): string => style.getPropertyValue(`--${name}`).trim()
  return {
    dark: style.colorScheme !== 'light',
    ground: token('ground'), raised: token('raised'), line: token('line'), edge: token('edge'), ink: token('ink'), soft: token('soft'),
    act: token('act'), good: token('good'), warn: token('warn'), bad: token('bad'), sky: token('sky'), pink: token('pink'),
    font: token('font'),
  }
}

// fillOf is the colour of a state, as in the legend: never alone, the height of the
// fill says the same.
export function fillOf(p: Palette, state: number): string {
  return [p.soft, p.soft, p.warn, p.act, p.good][state] ?? p.soft
}
