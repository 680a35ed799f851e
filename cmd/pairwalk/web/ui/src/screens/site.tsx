// The site as a whole: what comes in and goes out, what is planned, and what is
// set. On a phone the parts are a list of doors; where there is room they stand
// beside the one that is open.
import type { JSX } from 'preact'
import { useEffect, useRef } from 'preact/hooks'
import { hello, route } from '../state'
import { Checks } from '../handing/checks'
import { Pack } from '../handing/pack'
import { Channels } from '../site/channels'
import { Device } from '../site/device'
import { Hubs } from '../site/hubs'
import { Importing } from '../site/importing'
import { Leave } from '../site/leave'
import { Records } from '../site/records'
import { Settings } from '../site/settings'
import { ThisPage } from '../site/thispage'
import { Walk } from '../site/walk'
import { t } from '../words'
import './site.css'

const PARTS = ['hubs', 'walk', 'leave', 'channels', 'checks', 'import', 'records', 'pack', 'settings', 'device', 'page'] as const
type Part = (typeof PARTS)[number]

const rooms: Record<Part, () => JSX.Element> = { hubs: Hubs, walk: Walk, leave: Leave, channels: Channels, checks: Checks, import: Importing, records: Records, pack: Pack, settings: Settings, device: Device, page: ThisPage }

export function Site(): JSX.Element {
  const asked = route.value.query.get('part') ?? ''
  const part = (PARTS as readonly string[]).includes(asked) ? (asked as Part) : null
  const shown = part ?? 'hubs' // where there is room for it
  const Room = rooms[shown]
  const head = useRef<HTMLHeadingElement>(null)
  const was = useRef(part)
  useEffect(() => {
    if (part !== was.current && part) {
      head.current?.focus()
      document.getElementById('main')?.scrollTo(0, 0)
    }
    was.current = part
  }, [part])
  const site = hello.value!.site
  return (
    <div class={part ? 'site at-part' : 'site'}>
      <header class="site-top">
        <h1>{t('screen.site')}</h1>
        <p><b><bdi>{site.name}</bdi></b> <span class="quiet">{site.zone}{site.practice && ` · ${t('site.practice')}`}</span></p>
      </header>
      <nav class="site-doors" aria-label={t('site.parts')}>
        <ul>
          {PARTS.map((p) => (
            <li key={p}>
              <a href={`#/site?part=${p}`} aria-current={p === shown ? 'page' : undefined}>
                <b>{t(`site.part.${p}`)}</b>
                <small>{t(`site.part.${p}.words`)}</small>
              </a>
            </li>
          ))}
        </ul>
      </nav>
      <section class="site-room stack" aria-labelledby="site-part">
        <a class="button big site-back" href="#/site">← {t('site.parts.all')}</a>
        <h2 id="site-part" tabIndex={-1} ref={head}>{t(`site.part.${shown}`)}</h2>
        <Room key={shown} />
      </section>
    </div>
  )
}
