// What the shapes, fills and signs mean. They are drawn by the same code that draws
// them on the plan.
import type { JSX } from 'preact'
import { useEffect, useRef } from 'preact/hooks'
import { STATES } from '../api'
import { Panel } from '../parts/form'
import { Mark, shapeOf } from '../parts/mark'
import { hello, theme } from '../state'
import { t } from '../words'
import { palette } from './palette'
import { SIGNS, type Sign } from './reel'
import { drawScene, EMPTY, type Ring, type Scene } from './scene'
import { drawMark, type Look } from './sprite'
import { kindWords } from './twin'

const SIGN_ORDER: Exclude<Sign, 'gone'>[] = ['dark', 'hold', 'fault', 'refused', 'skipped', 'missed', 'struck']
const RINGS: Ring[] = ['chosen', 'single', 'strands', 'lost', 'dark', 'weaker', 'gained']

export function Legend({ onClose }: { onClose: () => void }): JSX.Element {
  return (
    <Panel title={t('plan.legend')} onClose={onClose}>
      <div class="stack plan-legend">
        <h3>{t('plan.legend.kinds')}</h3>
        <ul>{['hub', ...(hello.value?.kinds ?? [])].map((k) => <li key={k}><Mark kind={k} state="listed" label={false} /> {kindWords(k)}</li>)}</ul>
        <h3>{t('plan.legend.states')}</h3>
        <ul>{STATES.map((s) => <li key={s}><Mark kind="dimmer" state={s} /></li>)}</ul>
        <h3>{t('plan.legend.signs')}</h3>
        <ul>
          {SIGN_ORDER.map((s) => <li key={s}><Drawn look={{ shape: 'square', state: 2, signs: SIGNS[s], emergency: false }} /> {t(`flag.${s}`)}</li>)}
          <li><Drawn look={{ shape: 'square', state: 2, signs: 0, emergency: true }} /> {t('emergency')}</li>
        </ul>
        <h3>{t('plan.legend.rings')}</h3>
        <ul>
          {RINGS.map((r) => <li key={r}><Drawn look={{ shape: shapeOf('sensor'), state: 2, signs: 0, emergency: false }} scene={{ ...EMPTY, bare: true, rings: [{ at: [0, 0], ring: r }] }} /> {t(`plan.ring.${r}`)}</li>)}
          <li><Drawn scene={way('measured')} /> {t('plan.line.measured')}</li>
          <li><Drawn scene={way('likely')} /> {t('plan.line.likely')}</li>
          <li><Drawn scene={way('possible')} /> {t('plan.line.possible')}</li>
          <li><Drawn scene={{ ...EMPTY, bare: true, islands: [{ points: [[-800, 0], [800, 0]], sure: true, words: '' }] }} /> {t('plan.line.island')}</li>
        </ul>
        <p class="caution">{hello.value?.permit}</p>
      </div>
    </Panel>
  )
}

const way = (sure: NonNullable<Scene['path']>['sure']): Scene =>
  ({ ...EMPTY, bare: true, path: { legs: [[[-3000, 0], [3000, 0]]], home: false, sure, end: null, words: '' } })

function Drawn({ look, scene }: { look?: Look; scene?: Scene }): JSX.Element {
  const box = useRef<HTMLCanvasElement>(null)
  const shade = theme.value
  useEffect(() => {
    const ratio = devicePixelRatio || 1
    const canvas = box.current!
    canvas.width = canvas.height = 44 * ratio
    const ctx = canvas.getContext('2d')!
    const c = palette()
    const glass = { view: { x: 0, y: 0, scale: 8 / 500 }, size: { w: 44, h: 44 }, radius: 8, colours: c }
    ctx.scale(ratio, ratio)
    if (scene) drawScene(ctx, scene, glass, 'under')
    ctx.save()
    ctx.translate(22, 22)
    if (look) drawMark(ctx, look, 9, c)
    ctx.restore()
    if (scene) drawScene(ctx, scene, glass, 'over')
  }, [shade])
  return <canvas ref={box} class="plan-drawn" aria-hidden="true" />
}
