// Who holds how much of whose log.
import type { Team } from '../api'
import { t, tn } from '../words'

export type Member = Team['members'][number]

// holds is how many of an author's entries a holder is known to have. This device
// has all it knows of, and everybody has their own.
export function holds(holder: Member, author: Member): number {
  if (holder.you || holder.key === author.key) return author.entries
  return Math.min(holder.heard[author.name] ?? 0, author.entries)
}

export function missingWords(holder: Member, author: Member): string {
  const has = holds(holder, author)
  if (has >= author.entries) return t('all')
  return has === 0 ? t('team.holds.nothing') : tn('team.missing', author.entries - has)
}

const STANDINGS = ['admitted', 'provisional', 'quarantined', 'revoked'] as const
export type Standing = (typeof STANDINGS)[number]
export const isStanding = (text: string): text is Standing => (STANDINGS as readonly string[]).includes(text)

const ROLES = ['lead', 'tech', 'viewer', 'relay'] as const
export type Role = (typeof ROLES)[number]

export function roleWords(role: string): string {
  return (ROLES as readonly string[]).includes(role) ? t(`team.role.${role as Role}`) : role
}
