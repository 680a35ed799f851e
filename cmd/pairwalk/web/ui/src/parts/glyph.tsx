// The drawn signs of the bar. They stand beside their words, never alone.
import type { JSX } from 'preact'
import type { Screen } from '../state'

const paths: Record<Screen, string> = {
  now: 'M4 20 L12 4 L20 20 L12 15 Z', // where to go
  plan: 'M3 4 H21 V20 H3 Z M3 13 H12 M12 4 V9 M12 13 V20 M16 13 H21', // rooms
  story: 'M5 4 V20 M5 7 H20 M5 12 H16 M5 17 H18', // lines on a margin
  trouble: 'M5 3 V21 M5 4 H20 L16 9 L20 14 H5', // a flag
  team: 'M6 17 A3 3 0 1 0 6 11 A3 3 0 1 0 6 17 M18 17 A3 3 0 1 0 18 11 A3 3 0 1 0 18 17 M9 14 H15', // two who hold the same
  site: 'M4 21 V9 L12 3 L20 9 V21 Z M9 21 V14 H15 V21', // a house
}

export function Glyph({ name }: { name: Screen }): JSX.Element {
  return (
    <svg class="glyph" viewBox="0 0 24 24" aria-hidden="true">
      <path d={paths[name]} />
    </svg>
  )
}
