// The words that picture and list share.
import { t } from '../words'

type Said = 'island' | 'single' | 'circuit' | 'lost' | 'dark' | 'weaker' | 'shaken' | 'doubtful' | 'gained'

export const planWords = (key: Said, fill: Record<string, string | number> = {}): string => t(`plan.said.${key}`, fill)
