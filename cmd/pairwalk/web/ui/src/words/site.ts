import * as carry from './site/carry'
import * as device from './site/device'
import * as frame from './site/frame'
import * as plans from './site/plans'
import * as settings from './site/settings'

export const en = { ...frame.en, ...carry.en, ...plans.en, ...settings.en, ...device.en }

export const de: Record<keyof typeof en, string> = { ...frame.de, ...carry.de, ...plans.de, ...settings.de, ...device.de }
