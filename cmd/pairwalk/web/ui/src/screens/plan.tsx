// The plan: a floor as a picture and as a list, at any moment, as known to anybody.
import './plan.css'
import type { JSX } from 'preact'
import { useEffect, useMemo, useRef, useState } from 'preact/hooks'
import type { Course, Layout, Reach, Team } from '../api'
import { useLive } from '../live'
import { go, laid, met, tick, version } from '../state'
import { t } from '../words'
import { Card } from '../plan/card'
import { notesOf, sceneOf } from '../plan/compose'
import { asked, choose, chooseHub, followAddress, iso, leaveDesk, moment, past, reel, rest, startWinding, turnTo, wide } from '../plan/desk'
import { Draw } from '../plan/draw'
import { drawn, floorOf, floorsOf, placesOf, type Floor } from '../plan/floor'
import { useFresh } from '../plan/fresh'
import { growingCourse } from '../plan/growing'
import { Head, KnownTo, type Tool } from '../plan/head'
import { HubCard, Hubs } from '../plan/hub'
import { Legend } from '../plan/legend'
import { Picture } from '../plan/picture'
import { usePlacing } from '../plan/place'
import { printFloors } from '../plan/print'
import { Reel } from '../plan/reel'
import { Scrubber } from '../plan/scrubber'
import { Suppose } from '../plan/suppose'
import { Twin } from '../plan/twin'
import { Unplaced } from '../plan/unplaced'
import { Islands, SinglePoints, Supposed } from '../plan/weak'
import { planWords } from '../plan/words'

export function Plan(): JSX.Element {
  const { at: addressed } = asked.value
  useEffect(followAddress, [addressed])
  useEffect(() => leaveDesk, [])
  useEffect(startWinding, [])
  const layout = useLive<Layout>('layout', {}, laid)
  const course = useLive<Course>('course', { known_by: asked.value.knownBy }, version, growingCourse)
  const team = useLive<Team>('team', {}, met) // for their names
  const problem = layout.problem || course.problem
  const courseOf = useCourse(course.data)
  if (!layout.data) return <><h1>{t('screen.plan')}</h1><p class={problem ? 'bad' : 'quiet'} role="status">{problem || t('loading')}</p></>
  return <Desk layout={layout.data} course={course.data} courseOf={courseOf} team={team.data} problem={problem} />
}

// useCourse makes the reel of a course, and says which place in it each tag has. The
// clock is read again: what the course tells last happened since it last ticked.
function useCourse(course: Course | null): ReadonlyMap<string, number> {
  const mark = useRef('')
  useMemo(() => {
    tick()
    const grows = course?.after && course.after === mark.current ? reel.value : null
    reel.value = course && (grows?.grown(course.devices.length, course.turns) ?? new Reel(course.devices.length, course.turns))
    mark.current = course?.mark ?? ''
  }, [course])
  const devices = course?.devices
  return useMemo(() => new Map(devices?.map((tag, i) => [tag, i])), [devices])
}

interface DeskProps { layout: Layout; course: Course | null; courseOf: ReadonlyMap<string, number>; team: Team | null; problem: string }

function Desk({ layout, course, courseOf, team, problem }: DeskProps): JSX.Element {
  const { device, hub, knownBy, without, planned, list } = asked.value
  const floors = useMemo(() => floorsOf(layout), [layout])
  const places = useMemo(() => placesOf(layout), [layout])
  const floor = useFloor(layout, floors, courseOf)
  const at = rest.value === null ? undefined : iso(rest.value)
  const chosen = layout.devices.find((d) => d.tag === device)
  const beside = chosen && chosen.floor !== floor.id ? device : ''
  const reach = useFresh<Reach>('reach', { at, known_by: knownBy, without: without.join(','), planned: planned ? '1' : '', floor: floor.id, device: beside })
  const doc = reach.fresh ? reach.data : null
  const byTag = useMemo(() => new Map(doc?.devices.map((d) => [d.tag, d])), [doc])
  const [islands, setIslands] = useState(false)
  const [single, setSingle] = useState(false)
  const [sheet, setSheet] = useState<'' | 'suppose' | 'legend' | 'draw'>('')
  const placing = usePlacing(floor)
  const scene = useMemo(() => sceneOf(floor, places, doc, device || hub, { islands, single }, planWords, (f) => t('plan.goeson', { floor: f })), [floor, places, doc, device, hub, islands, single, t('plan.list')])
  const notes = useMemo(() => notesOf(doc, planWords), [doc, t('plan.list')])
  const devices = useMemo(() => layout.devices.filter((d) => d.floor === floor.id), [layout, floor.id])
  const picture = drawn(floor) || placing.tag !== ''
  const tools: Tool[] = [
    { words: t('plan.islands', { n: doc ? doc.islands.length : '…' }), on: islands, act: () => setIslands(!islands) },
    { words: t('plan.single', { n: doc ? doc.single_points.length : '…' }), on: single, act: () => setSingle(!single) },
    { words: t('plan.suppose'), act: () => setSheet('suppose') },
    { words: t('plan.draw.open'), act: () => setSheet('draw') },
    { words: t('plan.print'), act: () => void printFloors(layout, courseOf) },
    ...(past.value ? [{ words: t('happened.differs'), act: () => go('trouble', { part: 'differs', from: iso(moment.value ?? Date.now()), subject: `floor:${floor.id}` }) }] : []),
  ]
  const place = (tag: string): void => {
    placing.start(tag)
    turnTo({ view: '', device: tag })
  }
  return (
    <div class={`plan ${picture && !list ? 'shows-picture' : 'shows-list'} ${device || hub ? 'has-card' : ''} ${past.value ? 'not-now' : ''}`}>
      <Head floors={floors} floor={floor.id} tools={tools} list={list} choice={picture} onLegend={() => setSheet('legend')} />
      {problem && <p class="bad" role="alert">{problem}</p>}
      <Supposed reach={reach.data} fresh={reach.fresh} problem={reach.problem} />
      {placing.bar}
      <div class="plan-body">
        {picture
          ? <Picture floor={floor} scene={scene} chosen={device || hub} onChoose={choose} onHub={chooseHub} onPlace={placing.tap} />
          : <p class="plan-nopicture">{t('plan.floor.noplaces')}</p>}
        <div class="plan-foot">
          <Scrubber course={course} />
          <KnownTo team={team} />
        </div>
        <div class="plan-side">
          {device && !placing.tag && <Card key={device} tag={device} device={chosen} course={courseOf.get(device) ?? -1} reach={byTag.get(device)} reachFresh={reach.fresh} points={doc?.single_points ?? []} places={places} onPlace={() => place(device)} />}
          {hub && !device && <HubCard key={hub} id={hub} />}
          <div class="plan-weak stack">
            {islands && <section class="stack"><h2>{t('plan.islands.title')}</h2>{doc ? <Islands reach={doc} /> : <p class="quiet">{t('loading')}</p>}</section>}
            {single && <section class="stack"><h2>{t('plan.single.title')}</h2>{doc ? <SinglePoints reach={doc} /> : <p class="quiet">{t('loading')}</p>}</section>}
            {picture && <Unplaced devices={floor.unplaced} onPlace={place} />}
            {doc && <Basis reach={doc} />}
          </div>
          {(wide.value || list || !picture) && <Twin title={floor.id ? t('plan.on', { floor: floor.id }) : t('plan.floor.none')} devices={devices} courseOf={courseOf} reach={doc ? byTag : null} notes={notes} chosen={device} onChoose={choose}><Hubs layout={layout} floor={floor.id} chosen={hub} /></Twin>}
        </div>
      </div>
      {sheet === 'suppose' && <Suppose layout={layout} floor={floor.id} onClose={() => setSheet('')} />}
      {sheet === 'legend' && <Legend onClose={() => setSheet('')} />}
      {sheet === 'draw' && <Draw floor={floor} onClose={() => setSheet('')} />}
    </div>
  )
}

// useFloor is the floor of the address; else that of the chosen device; else the
// first one that something stands on.
function useFloor(layout: Layout, floors: string[], courseOf: ReadonlyMap<string, number>): Floor {
  const { floor, device } = asked.value
  const of = layout.devices.find((d) => d.tag === device)?.floor
  const busiest = floors.find((f) => layout.devices.some((d) => d.floor === f && d.place_mm)) ?? floors.find((f) => layout.devices.some((d) => d.floor === f))
  const id = [of, floor, busiest, floors[0]].find((f) => f !== undefined && f !== null && floors.includes(f)) ?? ''
  return useMemo(() => floorOf(layout, id, courseOf), [layout, id, courseOf])
}

// Basis says what the ways home are worked out from.
function Basis({ reach }: { reach: Reach }): JSX.Element {
  return (
    <details class="plan-basis">
      <summary>{t('plan.model')}</summary>
      <p><bdi>{reach.model}</bdi></p>
      {reach.notes.map((n) => <p key={n} class="quiet"><bdi>{n}</bdi></p>)}
    </details>
  )
}
