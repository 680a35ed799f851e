// What a serial field holds: the serial, where it is from, and what the label said
// besides, as far as it may be kept.
export interface SerialValue { text: string; source: 'typed' | 'scan'; label: string }
export const noSerial: SerialValue = { text: '', source: 'typed', label: '' }
