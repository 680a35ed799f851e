package settle_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection/settle"
	"pairwalk/projection/tale"
)

const settleTime = 10 * time.Minute

// device is a clock that drifts, wall and mono alike, and may be set.
type device struct {
	*tale.Teller
	set time.Duration // how far off its wall would be without drift
}

// at makes the device show what it shows at a true time.
func (d *device) at(now events.Instant) { d.Skew = d.set + d.drift(now) }

func (d *device) drift(now events.Instant) time.Duration {
	return time.Duration(int64(now-d.Up)*d.Rate/1_000_000) * time.Millisecond
}

// world is a site whose oracle knows when everything truly happened.
type world struct {
	*desk
	t    *rapid.T
	us   *device
	bo   *device
	now  events.Instant
	true map[events.Ref]events.Instant // pairings by the entry that tells of them
	gone map[events.Ref]events.Ref     // those that their author voided as did-not-happen, and where
	cuts []cut                         // of the circuit of 1-3, in order
	fuse *device                       // who stands at the panel and logs the cuts
	log  []string
}

// cut is a time without power, by the entries that tell of it.
type cut struct {
	off, on         events.Instant
	saidOff, saidOn events.Ref // the zero Ref while it is off
	boot            string     // of who cut it
}

func newWorld(t *rapid.T) *world {
	d := newDesk()
	bo := d.joins("bo")
	w := &world{desk: d, t: t, now: tale.T("10:00"), true: map[events.Ref]events.Instant{}, gone: map[events.Ref]events.Ref{}}
	d.us.Rate, bo.Rate = rapid.Int64Range(-200, 200).Draw(t, "our ppm"), rapid.Int64Range(-200, 200).Draw(t, "their ppm")
	w.us, w.bo = &device{Teller: d.us}, &device{Teller: bo, set: time.Duration(rapid.Int64Range(-240, 240).Draw(t, "their skew")) * time.Second}
	w.fuse = rapid.SampledFrom([]*device{w.us, w.bo}).Draw(t, "at the panel")
	return w
}

func (w *world) pass(ms events.Instant) {
	w.now += ms
	w.us.at(w.now)
	w.bo.at(w.now)
}

func (w *world) note(format string, args ...any) {
	w.log = append(w.log, w.now.Time().Format("15:04:05.000 ")+fmt.Sprintf(format, args...))
}

// draw is a number of seconds up to most, as ms, often one of the ends.
func (w *world) draw(most int64, what string) events.Instant {
	return events.Instant(rapid.OneOf(rapid.Just(int64(0)), rapid.Int64Range(0, most*1000), rapid.Just(most*1000)).Draw(w.t, what))
}

// typed is an interval, by the device's clock as it is set now, that a time some
// while ago lies in.
func (w *world) typed(d *device, ago events.Instant) events.Interval {
	wall := d.Stamp(w.now).Wall.At - ago - events.Instant(int64(ago)*d.Rate/1_000_000)
	return events.Interval{From: wall - w.draw(300, "before"), To: wall + w.draw(300, "after")}
}

func (w *world) pair(d *device, tag events.Tag) {
	e := d.SayAt(w.now, paired(tag))
	w.true[e.Ref()] = w.now
	w.note("%s pairs %s", d.Name, tag)
}

func (w *world) pairEarlier(d *device, tag events.Tag) {
	ago := w.draw(1200, "ago")
	span := w.typed(d, ago)
	e := d.SayAt(w.now, paired(tag), func(e *events.Event) { e.Told = events.NewTold(events.Some(span), "") })
	w.true[e.Ref()] = w.now - ago
	w.note("%s logs a pairing of %d ms ago", d.Name, ago)
}

func (w *world) told() {
	ago := w.draw(1200, "ago")
	e := w.us.SayAt(w.now, events.MemberAsked{Member: w.bo.Key, Hub: "H1", Last: events.Some(w.typed(w.us, ago)), Through: w.us.Stamp(w.now).Wall.At})
	w.true[e.Ref()] = w.now - ago
	w.note("bo tells of a pairing of %d ms ago", ago)
}

// compare measures with an error of up to half the round trip.
func (w *world) compare(mine, theirs *device) {
	trip := w.draw(2, "round trip")
	wrong := events.Instant(rapid.Int64Range(-int64(trip)/2, int64(trip)/2).Draw(w.t, "error"))
	m, o := mine.Stamp(w.now), theirs.Stamp(w.now+wrong)
	mine.SayAt(w.now, events.ClockCompared{
		Other: theirs.Key, Offset: int64(o.Wall.At - m.Wall.At), RoundTrip: int64(trip),
		Mine: events.Reading{Wall: m.Wall.At, Mono: m.Mono}, Theirs: events.Reading{Wall: o.Wall.At, Mono: o.Mono},
	})
	w.note("%s compares clocks", mine.Name)
}

func (w *world) set(d *device) {
	d.set += time.Duration(rapid.Int64Range(-3600_000, 3600_000).Draw(w.t, "step")) * time.Millisecond
	d.at(w.now)
	w.note("%s sets the clock", d.Name)
}

func (w *world) reboot(d *device) {
	d.set += d.drift(w.now) // the wall goes on where it was
	if d == w.us {
		w.rebootsAt(w.now)
	} else {
		d.Boot, d.Up = d.Boot+"'", w.now-20_000
	}
	d.at(w.now)
	w.note("%s reboots", d.Name)
}

// power switches the circuit of 1-3.
func (w *world) power() {
	if n := len(w.cuts); n > 0 && w.cuts[n-1].saidOn == (events.Ref{}) {
		w.cuts[n-1].on, w.cuts[n-1].saidOn = w.now, w.fuse.SayAt(w.now, on("C3")).Ref()
		w.note("%s: power on", w.fuse.Name)
		return
	}
	w.cuts = append(w.cuts, cut{off: w.now, saidOff: w.fuse.SayAt(w.now, off("C3")).Ref(), boot: w.fuse.Boot})
	w.note("%s: power off", w.fuse.Name)
}

func (w *world) void(d *device, why events.VoidWhy) {
	var own []events.Ref
	for _, e := range w.Events() {
		p, ok := e.Payload.(events.DevicePaired)
		if ok && p.Device != "1-3" && e.Member() == d.Key {
			own = append(own, e.Ref())
		}
	}
	if len(own) == 0 {
		return
	}
	ref := rapid.SampledFrom(own).Draw(w.t, "entry")
	e := d.SayAt(w.now, events.EventVoided{Event: ref, Why: why})
	if _, before := w.gone[ref]; !before && why == events.DidNotHappen {
		w.gone[ref] = e.Ref()
	}
	w.note("%s voids: %s", d.Name, why)
}

func (w *world) act() {
	acts := []func(){
		func() { w.pair(w.us, "1-1") }, func() { w.pair(w.bo, "1-2") },
		func() { w.pairEarlier(w.us, "1-1") }, func() { w.pairEarlier(w.bo, "1-2") },
		func() { w.told() },
		func() { w.compare(w.us, w.bo) }, func() { w.compare(w.bo, w.us) },
		w.power, w.power,
		func() { w.set(w.us) }, func() { w.set(w.bo) },
		func() { w.reboot(w.us) }, func() { w.reboot(w.bo) },
		func() { w.void(w.us, events.DidNotHappen) }, func() { w.void(w.bo, events.DidNotHappen) }, func() { w.void(w.bo, events.WrongDetail) },
		func() { w.hearsAt(w.now, w.bo.Teller); w.note("we hear bo") },
		func() { w.hearsAt(w.now, w.bo.Teller); w.note("we hear bo") },
	}
	acts[rapid.IntRange(0, len(acts)-1).Draw(w.t, "act")]()
}

func (w *world) holds(ref events.Ref) bool {
	_, came := w.receipts[ref]
	return came || ref.Feed == w.us.Feed
}

// youngest is the true age of the last wait to begin that our journal holds: of a
// pairing, or of power that came back after it was cut in a wait. It also says
// whether the power is off since one.
func (w *world) youngest(at events.Instant) (age time.Duration, dark bool) {
	var begun []events.Instant
	for ref, when := range w.true {
		if void, withdrawn := w.gone[ref]; w.holds(ref) && !(withdrawn && w.holds(void)) {
			begun = append(begun, when)
		}
	}
	for _, c := range w.cuts {
		inWait := slices.ContainsFunc(begun, func(b events.Instant) bool { return b < c.off && c.off.Sub(b) < settleTime })
		switch {
		case !w.holds(c.saidOff) || !inWait:
		case w.holds(c.saidOn):
			begun = append(begun, c.on)
		case c.boot == w.us.Boot: // of others, only clocks that were set may tell
			dark = true
		}
	}
	return at.Sub(slices.Max(begun)), dark
}

// The invariant: never ready while the journal holds a pairing on the hub whose
// true time lies under the settle time ago, or a cut of power in the wait for one,
// with any steps of clocks, skews, reboots, and a drift of up to ρ either way. And
// no wait is for ever.
func TestNeverReadyEarly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := newWorld(t)
		w.pass(0)
		w.pair(w.us, "1-3")
		for range rapid.IntRange(1, 12).Draw(t, "acts") {
			w.pass(w.draw(400, "pause"))
			w.act()
		}
		w.comesHomeAt(w.now)
		s, judged := w.site(), w.now
		for _, later := range []time.Duration{0, time.Minute, 5 * time.Minute, 8 * time.Minute, settleTime - 200*time.Millisecond, settleTime, settleTime + 119*time.Millisecond, 11 * time.Minute} {
			w.now = judged
			w.pass(events.Instant(later.Milliseconds()))
			j := settle.Judge(s, "H1", w.attentive(w.now))
			age, dark := w.youngest(w.now)
			if age < settleTime || dark {
				require.NotEqual(t, settle.Ready, j.Verdict, "a wait is %s old, dark %t\n%v", age, dark, w.log)
			}
			// Wherever it says the wait ends, the youngest pairing is old enough.
			if j.At.Known {
				local := int64(j.At.Value - w.us.Stamp(w.now).Wall.At)
				end := w.now + events.Instant(local*1_000_000/(1_000_000+w.us.Rate))
				age, _ := w.youngest(end)
				require.GreaterOrEqual(t, age, settleTime, "when the wait is to end\n%v", w.log)
			}
		}
		allowed := []settle.Verdict{settle.Ready, settle.Nothing}
		if slices.ContainsFunc(w.cuts, func(c cut) bool { return w.holds(c.saidOff) && !w.holds(c.saidOn) }) {
			allowed = append(allowed, settle.Blocked) // it is off, as far as we know
		}
		require.Contains(t, allowed, settle.Judge(s, "H1", w.attentive(w.now)).Verdict, "11 minutes after the last entry\n%v", w.log)
	})
}
