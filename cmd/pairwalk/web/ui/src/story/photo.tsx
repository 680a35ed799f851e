// A photo that an entry speaks of, or in words why it is not to be seen. It appears
// by itself once it has come.
import type { JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import type { Pictures } from '../api'
import { get, Refused, request } from '../request'
import { version } from '../state'
import { has, t } from '../words'

export function Photo({ body }: { body: Record<string, unknown> }): JSX.Element | null {
  const sha = String(body.sha256 ?? '')
  const [url, setUrl] = useState('')
  const [problem, setProblem] = useState('')
  const moved = url ? 0 : version.value // one that is here stays
  useEffect(() => {
    let gone = false
    show(sha).then((made) => {
      if (gone) return URL.revokeObjectURL(made)
      setProblem('')
      setUrl(made)
    }, async (error: unknown) => {
      const words = await away(sha, error)
      if (!gone) setProblem(words)
    })
    return () => { gone = true }
  }, [sha, moved])
  useEffect(() => () => { if (url) URL.revokeObjectURL(url) }, [url])
  if (url) return <img class="story-photo" src={url} alt={String(body.caption ?? '') || t('story.photo')} />
  return problem ? <p class="quiet">{problem}</p> : null
}

async function show(sha: string): Promise<string> {
  return URL.createObjectURL(await (await request('GET', `picture/${sha}`)).blob())
}

// away says why a photo is not to be seen.
async function away(sha: string, error: unknown): Promise<string> {
  if (!(error instanceof Refused)) return t('story.photo.away')
  if (error.status !== 404) return error.message
  try {
    const p = (await get<Pictures>('pictures')).pictures.find((x) => x.sha256 === sha)
    const key = `story.photo.${p?.state}`
    if (!p || !has(key)) return t('story.photo.away')
    const words = t(key, { got: Math.round(p.got / 1024), of: Math.round(p.bytes / 1024) })
    return p.held_by.length ? `${words} ${t('story.photo.with', { names: p.held_by.join(', ') })}` : words
  } catch {
    return t('story.photo.away')
  }
}
