// A course is sent once, and then what is new in it. What is the same stays the very
// same list, so that nothing is worked out again from it.
import type { Course } from '../api'
import type { Growing } from '../live'

export const growingCourse: Growing<Course> = {
  after: (had) => ({ after: had.mark }),
  joined: (had, more) => {
    if (more.after !== had.mark) return more
    if (more.mark === had.mark && more.known === had.known) return had
    return { ...more, devices: joined(had.devices, more.devices), turns: joined(had.turns, more.turns), marks: joined(had.marks, more.marks) }
  },
}

const joined = <T>(had: T[], more: T[]): T[] => (more.length ? had.concat(more) : had)
