// Laying a photographed plan under a floor: two points of it, and how far apart they
// are or where they lie.
import type { JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import type { Logged } from '../api'
import { said } from '../outbox'
import { Choice, Field, Panel, Speaker, speakerReady } from '../parts/form'
import { send } from '../request'
import { t } from '../words'
import type { Floor } from './floor'
import { byDistance, byPlaces, type Sheet } from './sheet'
import { shrink, type Shot } from './shot'
import { Sight } from './sight'
import type { XY } from './view'

type Way = 'distance' | 'places'
const FIELDS = { metres: '', ax: '0', ay: '0', bx: '', by: '', turn: '0' }
type Fields = typeof FIELDS

export function Draw({ floor, onClose }: { floor: Floor; onClose: () => void }): JSX.Element {
  const [shot, setShot] = useState<Shot | null>(null)
  const [points, setPoints] = useState<[XY, XY]>([[0, 0], [0, 0]])
  const [way, setWay] = useState<Way>('distance')
  const [f, setF] = useState<Fields>(FIELDS)
  const [problem, setProblem] = useState('')
  const [busy, setBusy] = useState(false)
  useEffect(() => () => { if (shot) URL.revokeObjectURL(shot.url) }, [shot])
  const take = async (file: File | undefined): Promise<void> => {
    if (!file) return
    setProblem('')
    try {
      const s = await shrink(file)
      setShot(s)
      setPoints([[Math.round(s.wide * 0.25), Math.round(s.high / 2)], [Math.round(s.wide * 0.75), Math.round(s.high / 2)]])
    } catch {
      setProblem(t('plan.draw.nopicture'))
    }
  }
  const sheet = shot && sheetOf(points, way, f)
  const lay = async (): Promise<void> => {
    if (!shot || !sheet) return
    setBusy(true)
    try {
      const logged = await send<Logged>('drawing', shot.blob, { floor: floor.id, corner_x: sheet.corner_mm[0], corner_y: sheet.corner_mm[1], pixel_um: sheet.pixel_um, turn_mdeg: sheet.turn_mdeg })
      said.value = { words: t('plan.drawn', { floor: floor.id }), logged, at: Date.now() }
      onClose()
    } catch (e) {
      setProblem(e instanceof Error && e.message ? e.message : t('plan.draw.failed'))
      setBusy(false)
    }
  }
  return (
    <Panel title={t('plan.draw', { floor: floor.id })} onClose={onClose} wide>
      <div class="stack">
        <p>{t('plan.draw.words')}</p>
        <div class="field">
          <label for="plan-shot">{t('plan.draw.choose')}</label>
          <input id="plan-shot" type="file" accept="image/*" onChange={(e) => void take(e.currentTarget.files?.[0])} />
        </div>
        {problem && <p class="bad" role="alert">{problem}</p>}
        {shot && (
          <>
            <Sight shot={shot} points={points} onPoints={setPoints} />
            <Choice<Way> label={t('plan.draw.by')} options={['distance', 'places']} value={way} onPick={setWay} words={(w) => t(`plan.draw.by.${w}`)} />
            <Where way={way} f={f} set={(x) => setF({ ...f, ...x })} floor={floor} />
            <p role="status" class={sheet ? 'quiet' : 'warn'}>{sheet ? t('plan.draw.result', { mm: (sheet.pixel_um / 1000).toFixed(1), wide: ((shot.wide * sheet.pixel_um) / 1e6).toFixed(1), high: ((shot.high * sheet.pixel_um) / 1e6).toFixed(1), turn: (sheet.turn_mdeg / 1000).toFixed(1) }) : t('plan.draw.missing')}</p>
            <Speaker />
            <button type="button" class="act" disabled={!sheet || busy || !speakerReady()} onClick={() => void lay()}>{t('plan.draw.lay')}</button>
          </>
        )}
      </div>
    </Panel>
  )
}

const number = (text: string): number => (text.trim() === '' ? NaN : Number(text.replace(',', '.')))

// sheetOf is null while something is missing, or makes no sense.
function sheetOf([a, b]: [XY, XY], way: Way, f: Fields): Sheet | null {
  const atA: XY = [number(f.ax) * 1000, number(f.ay) * 1000]
  const atB: XY = [number(f.bx) * 1000, number(f.by) * 1000]
  const metres = number(f.metres)
  const turn = number(f.turn)
  const apart = Math.hypot(b[0] - a[0], b[1] - a[1])
  if (apart < 10 || ![...atA].every(Number.isFinite)) return null
  if (way === 'distance') return metres > 0 && Math.abs(turn) <= 360 ? byDistance(a, b, metres * 1000, atA, Math.round(turn * 1000)) : null
  return [...atB].every(Number.isFinite) && Math.hypot(atB[0] - atA[0], atB[1] - atA[1]) > 0 ? byPlaces(a, b, atA, atB) : null
}

function Where({ way, f, set, floor }: { way: Way; f: Fields; set: (x: Partial<Fields>) => void; floor: Floor }): JSX.Element {
  const field = (key: keyof Fields, label: string, hint?: string): JSX.Element => <Field label={label} hint={hint} inputMode="decimal" value={f[key]} onInput={(v) => set({ [key]: v })} />
  const known = [...floor.hubs.map((h) => ({ id: h.id, x: h.x, y: h.y })), ...floor.spots.map((s) => ({ id: s.tag, x: s.x, y: s.y }))]
  const from = (id: string, kx: 'ax' | 'bx', ky: 'ay' | 'by', label: string): JSX.Element | null => known.length === 0 ? null : (
    <div class="field">
      <label for={id}>{label}</label>
      <select id={id} value="" onChange={(e) => { const k = known.find((x) => x.id === e.currentTarget.value); if (k) set({ [kx]: String(k.x / 1000), [ky]: String(k.y / 1000) }) }}>
        <option value="">{t('plan.draw.typed')}</option>
        {known.slice(0, 400).map((k) => <option key={k.id} value={k.id}>{k.id}</option>)}
      </select>
    </div>
  )
  return (
    <div class="plan-fields">
      {way === 'distance' && field('metres', t('plan.draw.metres'))}
      {from('plan-draw-a', 'ax', 'ay', t('plan.draw.same', { p: 'A' }))}
      {field('ax', t('plan.draw.x', { p: 'A' }))}
      {field('ay', t('plan.draw.y', { p: 'A' }))}
      {way === 'distance' && field('turn', t('plan.draw.turn'), t('plan.draw.turn.hint'))}
      {way === 'places' && from('plan-draw-b', 'bx', 'by', t('plan.draw.same', { p: 'B' }))}
      {way === 'places' && field('bx', t('plan.draw.x', { p: 'B' }))}
      {way === 'places' && field('by', t('plan.draw.y', { p: 'B' }))}
    </div>
  )
}
