// A QR code drawn from its modules: black on white in every theme, for cameras.
import type { JSX } from 'preact'

export function Qr({ modules, label }: { modules: string[]; label: string }): JSX.Element | null {
  const n = modules.length
  if (!n) return null
  return (
    <svg class="team-qr" viewBox={`0 0 ${n} ${n}`} role="img" aria-label={label} shape-rendering="crispEdges">
      <rect class="paper" width={n} height={n} />
      <path class="dark" d={modulesPath(modules)} />
    </svg>
  )
}

// modulesPath is one box for each run of dark modules in a row.
export function modulesPath(modules: string[]): string {
  let d = ''
  modules.forEach((row, y) => {
    for (const run of row.matchAll(/1+/g)) d += `M${run.index} ${y}h${run[0].length}v1h-${run[0].length}z`
  })
  return d
}
