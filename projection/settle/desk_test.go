package settle_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/settle"
	"pairwalk/projection/tale"
)

// desk is our device in a story: what its journal holds, and when it came.
type desk struct {
	*tale.Story
	us       *tale.Teller
	receipts map[events.Ref]events.Stamp
	heard    map[events.Key]settle.Heard
	opened   events.Stamp
	exports  int
}

// newDesk is a lead at 08:00 with a hub H1 that is ready and lists everything,
// four mesh devices and one star device on it, each on a circuit of its own.
func newDesk() *desk {
	s := tale.New()
	d := &desk{Story: s, us: s.Lead, receipts: map[events.Ref]events.Stamp{}, heard: map[events.Key]settle.Heard{}}
	d.opened = d.us.Stamp(tale.T("08:00"))
	d.us.Say("08:00", events.HubListed{Hub: "H1", Floor: "B1"})
	for tag, circuit := range map[events.Tag]events.CircuitID{"1-1": "C1", "1-2": "C2", "1-3": "C3", "1-4": "C4"} {
		d.us.Say("08:00", mesh(tag, circuit))
	}
	star := mesh("1-5", "C5")
	star.Radio = events.Star
	d.us.Say("08:00", star)
	d.us.Say("08:00", events.HubLoaded{Hub: "H1", Program: "r1", All: true})
	d.us.Say("08:00", events.HubReady{Hub: "H1"})
	return d
}

func mesh(tag events.Tag, circuit events.CircuitID) events.DeviceListed {
	return events.DeviceListed{Device: tag, Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Floor: "1", Circuit: circuit}
}

// joins lets a colleague in whom we have heard by 08:00.
func (d *desk) joins(name string) *tale.Teller {
	t := d.Join(name, events.Tech)
	d.hears("08:00", t)
	return t
}

// hears takes in all that others have said so far, at a true time, in an exchange.
func (d *desk) hears(clock string, others ...*tale.Teller) { d.hearsAt(tale.T(clock), others...) }

func (d *desk) hearsAt(at events.Instant, others ...*tale.Teller) {
	now := d.us.Stamp(at)
	for _, o := range others {
		for _, e := range d.Events() {
			if _, had := d.receipts[e.Ref()]; e.Member() == o.Key && !had {
				d.receipts[e.Ref()] = now
			}
		}
		d.us.Hear(o)
		d.heard[o.Key] = settle.Heard{At: now}
	}
}

// reboots starts a new boot of ours in which the journal is first open then.
func (d *desk) reboots(clock string) { d.rebootsAt(tale.T(clock)) }

func (d *desk) rebootsAt(at events.Instant) {
	d.us.Boot, d.us.Up = d.us.Boot+"'", at-20_000
	d.opened = d.us.Stamp(at)
}

// comesHome exports everything the journal holds, and has it merged.
func (d *desk) comesHome(clock string) { d.comesHomeAt(tale.T(clock)) }

func (d *desk) comesHomeAt(at events.Instant) {
	d.exports++
	id := fmt.Sprintf("export %d", d.exports)
	d.us.SayAt(at, events.RecordsExported{Export: id, Heads: d.site().Heads})
	d.us.SayAt(at, events.RecordsMerged{Export: id})
}

// site is the facts of what our journal holds.
func (d *desk) site() *projection.Site {
	h := &projection.History{Site: d.Site}
	for _, e := range d.Events() {
		if _, came := d.receipts[e.Ref()]; came || e.Member() == d.us.Key {
			h.Add(e)
		}
	}
	return h.At(projection.Moment{})
}

func (d *desk) local(at events.Instant) settle.Local {
	return settle.Local{
		Self: d.us.Key, Now: d.us.Stamp(at), Opened: d.opened, Heard: d.heard,
		Receipt: func(r events.Ref) (events.Stamp, bool) { s, ok := d.receipts[r]; return s, ok },
	}
}

// attentive is local with everybody at work heard just now: what is left is the
// wait.
func (d *desk) attentive(at events.Instant) settle.Local {
	l := d.local(at)
	l.Heard = map[events.Key]settle.Heard{}
	for k := range d.heard {
		l.Heard[k] = settle.Heard{At: l.Now}
	}
	return l
}

// judge judges H1 at a true time.
func (d *desk) judge(clock string) settle.Judgement {
	return settle.Judge(d.site(), "H1", d.local(tale.T(clock)))
}

// pushable brings the records home and finds the first second, counted from a
// true time, in which a push may go once everybody has been heard. It fails if
// that does not happen within the hour, or if ready turns into something else.
func (d *desk) pushable(t *testing.T, from string) string {
	t.Helper()
	d.comesHome(from)
	s := d.site()
	first := ""
	for at := tale.T(from); at < tale.T(from).Add(time.Hour); at += 1000 {
		j := settle.Judge(s, "H1", d.attentive(at))
		if j.Verdict == settle.Ready && first == "" {
			first = at.Time().Format("15:04:05")
		}
		if first == "" {
			require.Equal(t, settle.Wait, j.Verdict, "at %s: %v", at, j.Reasons)
			end := at + (j.At.Value - d.us.Stamp(at).Wall.At)
			require.Equal(t, settle.Wait, settle.Judge(s, "H1", d.attentive(end-1)).Verdict, "1 ms before the end it gave")
			require.NotEqual(t, settle.Wait, settle.Judge(s, "H1", d.attentive(end)).Verdict, "at the end it gave")
		} else {
			require.Equal(t, settle.Ready, j.Verdict, "at %s: %v", at, j.Reasons)
		}
	}
	require.NotEmpty(t, first, "ready within the hour")
	return first
}

func paired(tag events.Tag) events.DevicePaired {
	return events.DevicePaired{Device: tag, Hub: "H1", Serial: events.Serial("S" + tag)}
}

func kinds(j settle.Judgement) []settle.ReasonKind {
	var out []settle.ReasonKind
	for _, r := range j.Reasons {
		out = append(out, r.Kind)
	}
	return out
}
