// The photographed drawing of a floor, ready to be drawn: fetched once, and made
// dark for the dark theme, so that a white sheet does not glare in a cellar.
import { useEffect, useState } from 'preact/hooks'
import { Refused, request } from '../request'
import { theme, version } from '../state'
import type { Under } from './ground'

const kept = new Map<string, Promise<Under>>()

function load(sha: string, dark: boolean): Promise<Under> {
  const key = `${sha} ${dark}`
  let u = kept.get(key)
  if (!u) {
    u = fetchOne(sha, dark)
    kept.set(key, u)
    u.catch(() => kept.delete(key)) // it is asked for again another time
  }
  return u
}

async function fetchOne(sha: string, dark: boolean): Promise<Under> {
  const image = await createImageBitmap(await (await request('GET', `picture/${sha}`)).blob())
  const { width: wide, height: high } = image
  if (!dark) return { image, wide, high }
  const canvas = document.createElement('canvas')
  canvas.width = wide
  canvas.height = high
  const ctx = canvas.getContext('2d')!
  ctx.drawImage(image, 0, 0)
  ctx.globalCompositeOperation = 'difference'
  ctx.fillStyle = '#fff'
  ctx.fillRect(0, 0, wide, high)
  image.close()
  return { image: canvas, wide, high }
}

// useUnder is the drawing of that content, null while there is none to show, and
// whether that is because it is not on this device. It appears once it has come.
export function useUnder(sha: string | undefined): [Under | null, boolean] {
  const [under, setUnder] = useState<Under | null>(null)
  const [away, setAway] = useState(false)
  const dark = theme.value === 'dark'
  const moved = away ? version.value : 0
  useEffect(() => {
    let gone = false
    setUnder(null)
    if (!sha) setAway(false)
    else load(sha, dark).then((u) => { if (!gone) { setUnder(u); setAway(false) } }, (error: unknown) => { if (!gone) setAway(error instanceof Refused && error.status === 404) })
    return () => { gone = true }
  }, [sha, dark, moved])
  return [under, away]
}
