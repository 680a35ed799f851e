// Files that come into the page and go out of it.
import { hello, now } from '../state'

// save lets a person keep a file.
export function save(bytes: Blob, name: string): void {
  const link = document.createElement('a')
  link.href = URL.createObjectURL(bytes)
  link.download = name
  document.body.append(link)
  link.click()
  link.remove()
  setTimeout(() => URL.revokeObjectURL(link.href), 60000)
}

// siteSlug is the site's name as files are called.
export function siteSlug(): string {
  const name = (hello.value?.site.name ?? '').normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase()
  return name.replace(/[^a-z0-9]+/g, '-').replace(/^-|-$/g, '').slice(0, 40) || 'site'
}

// today is the date in the site's zone, as 2026-03-02.
export const today = (): string => new Intl.DateTimeFormat('en-CA', { timeZone: hello.value?.site.zone || 'UTC' }).format(now.value)

// whole reads a file into memory: one that is changed or unplugged later is still
// what was looked at.
export const whole = async (file: File): Promise<Blob> => new Blob([await file.arrayBuffer()])
