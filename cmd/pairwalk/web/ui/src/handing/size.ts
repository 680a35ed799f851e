// sizeWords says how large a file is.
export function sizeWords(bytes: number): string {
  if (bytes < 1000) return `${bytes} B`
  if (bytes < 999_500) return `${Math.round(bytes / 1000)} kB`
  return `${(bytes / 1_000_000).toFixed(1)} MB`
}
