// Words with names in them: a tag is not broken at its hyphen.
import type { JSX } from 'preact'

const NAME = /([A-Za-z0-9.]{1,8}-[A-Za-z0-9.-]{1,10})/

export function Words({ text }: { text: string }): JSX.Element {
  const parts = text.split(NAME)
  if (parts.length === 1) return <bdi>{text}</bdi>
  return <bdi>{parts.map((p, i) => (i % 2 ? <span key={i} class="story-name">{p}</span> : p))}</bdi>
}
