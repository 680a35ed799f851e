// This page: how it looks, in which language, and what it is talking to.
import type { JSX } from 'preact'
import { outbox } from '../outbox'
import { Choice } from '../parts/form'
import { hello, language, now, reached, strip, theme } from '../state'
import { roleWords } from '../team/holds'
import { apart, clockSeconds, day } from '../times'
import { t, tn } from '../words'

const own = document.querySelector<HTMLMetaElement>('meta[name=pairwalk-page]')?.content ?? ''

export function ThisPage(): JSX.Element {
  return (
    <div class="stack">
      <section class="card stack">
        <Choice label={t('site.page.theme')} options={['dark', 'light'] as const} value={theme.value} onPick={(v) => { theme.value = v }} words={(v) => t(v === 'dark' ? 'theme.dark' : 'theme.light')} />
        <Choice label={t('site.page.language')} options={['en', 'de'] as const} value={language.value} onPick={(v) => { language.value = v }} words={(v) => (v === 'en' ? 'English' : 'Deutsch')} />
        <p class="quiet">{t('site.page.language.words')}</p>
      </section>
      <Clocks />
      <About />
      <p class="caution">{hello.value?.permit}</p>
    </div>
  )
}

// Clocks holds the browser's clock against that of the process.
function Clocks(): JSX.Element {
  const zone = hello.value?.site.zone ?? ''
  const off = Math.round((now.value - Date.now()) / 1000)
  const wrong = strip.value?.clocks ?? []
  return (
    <section class="card stack" aria-labelledby="page-clocks">
      <h3 id="page-clocks">{t('site.page.clocks')}</h3>
      <dl class="site-facts wide">
        <div><dt>{t('site.page.clock.site')}</dt><dd class="num">{day(now.value)} {clockSeconds(now.value)} <small>{zone}</small></dd></div>
        <div><dt>{t('site.page.clock.browser')}</dt><dd class="num">{day(Date.now())} {clockSeconds(Date.now())}</dd></div>
      </dl>
      {Math.abs(off) > 2 && <p class="warn">{tn(off > 0 ? 'site.page.ahead' : 'site.page.behind', Math.abs(off))}</p>}
      {wrong.length ? wrong.map((c) => <p key={c.member} class="warn">{apart(c)}</p>) : <p class="good">{t('site.page.clock.fine')}</p>}
    </section>
  )
}

function About(): JSX.Element {
  const h = hello.value
  const waits = outbox.value.length
  const lacks = [!isSecureContext && t('lacks.camera'), !isSecureContext && t('lacks.wake')].filter(Boolean)
  return (
    <section class="card stack" aria-labelledby="page-about">
      <h3 id="page-about">{t('site.page.about')}</h3>
      <dl class="site-facts wide">
        <div><dt>{t('site.page.site')}</dt><dd><bdi>{h?.site.name}</bdi>{h?.site.practice && ` · ${t('site.practice')}`}</dd></div>
        <div><dt>{t('site.page.me')}</dt><dd><bdi>{h?.me.name}</bdi> · {roleWords(h?.me.role ?? '')}</dd></div>
        <div><dt>{t('site.page.entries')}</dt><dd class="num">{strip.value?.entries ?? t('unknown')}</dd></div>
        <div><dt>{t('site.page.version')}</dt><dd><code>{own || t('unknown')}</code></dd></div>
        <div><dt>{t('site.page.process')}</dt><dd class={reached.value ? 'good' : 'bad'}>{t(reached.value ? 'site.page.answers' : 'site.page.silent')}</dd></div>
        <div><dt>{t('site.page.way')}</dt><dd>{t(h?.beyond ? 'site.page.network' : 'site.page.here')}</dd></div>
        <div><dt>{t('site.page.waits')}</dt><dd>{waits ? tn('site.page.waiting', waits) : t('nothing')}</dd></div>
        <div><dt>{t('site.page.siteid')}</dt><dd><code>{h?.site.id}</code></dd></div>
      </dl>
      {h && own && h.page !== own && <p class="warn">{t('site.page.old')}</p>}
      {lacks.length > 0 && <p class="warn">{t('strip.lacks', { what: lacks.join(', ') })}</p>}
      <p class="quiet">{t('site.page.secret')}</p>
    </section>
  )
}
