import * as carry from '../site/words/carry'
import * as frame from '../site/words/frame'
import * as plans from '../site/words/plans'
import * as settings from '../site/words/settings'

export const en = { ...frame.en, ...carry.en, ...plans.en, ...settings.en }

export const de: Record<keyof typeof en, string> = { ...frame.de, ...carry.de, ...plans.de, ...settings.de }
