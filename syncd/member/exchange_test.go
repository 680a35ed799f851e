package member_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
)

// works logs n entries of plausible work, some of them on what the other works
// on too, with voids and typed times.
func (d *device) works(r *rand.Rand, n int) {
	var own []events.Event
	for range n {
		d.team.pass(time.Duration(r.IntN(40)) * time.Second)
		tag := events.Tag(fmt.Sprintf("%d-%03d", 1+r.IntN(2), 1+r.IntN(60)))
		hub := events.HubID("H" + string(tag[0]))
		var p events.Payload
		switch r.IntN(9) {
		case 0, 1, 2:
			p = events.DevicePaired{Device: tag, Hub: hub, Serial: events.Serial(fmt.Sprintf("SN-%s-%d", d.name, r.IntN(400)))}
		case 3:
			p = events.DeviceUnpaired{Device: tag, Why: "reset"}
		case 4:
			p = events.PushDone{Hub: hub, Program: "r1", Missed: []events.Tag{tag}}
		case 5:
			p = events.PowerOff{Of: events.Circuit("C1"), Dark: []events.Tag{tag}}
		case 6:
			p = events.DeviceHeard{Device: tag, Hub: hub}
		case 7:
			p = events.NoteAdded{Of: events.Device(tag), Text: "seen"}
		case 8:
			if len(own) == 0 {
				continue
			}
			e := own[r.IntN(len(own))]
			p = events.EventVoided{Event: e.Ref(), Why: events.DidNotHappen}
		}
		evs := d.log(p)
		if p.Kind() != "event.voided" {
			own = append(own, evs...)
		}
	}
}

// apart is a site on which two members have logged a thousand entries each
// without hearing of one another.
func apart(t *testing.T) (x *team, ada, ben *device, moments []events.Instant) {
	x = newTeam(t)
	ada, ben = x.lead, x.joins("ben", events.Tech)
	ada.schedule(60)
	ben.takes(ada.bundle())
	ada.takes(ben.bundle())
	ben.skew = 4 * time.Minute
	r := rand.New(rand.NewPCG(1, 2))
	for i := range 20 {
		ada.works(r, 50)
		ben.works(r, 50)
		if i%4 == 0 {
			moments = append(moments, x.time.Add(time.Duration(r.IntN(3600))*-time.Second))
		}
	}
	return x, ada, ben, moments
}

func TestBundlesMakeTheLogsOne(t *testing.T) {
	x, ada, ben, moments := apart(t)
	fromAda, fromBen := ada.bundle(), ben.bundle()
	require.NotEqual(t, ada.status(projection.Moment{}), ben.status(projection.Moment{}), "they differ while apart")

	ben.takes(fromAda)
	ada.takes(fromBen)
	require.Zero(t, ben.takes(fromAda).Fresh, "a second time brings nothing")
	require.Zero(t, ada.takes(fromBen).Fresh)

	same := func(what string, others ...*device) {
		for _, d := range others {
			require.Equal(t, ada.status(projection.Moment{}), d.status(projection.Moment{}), what)
			for _, at := range moments {
				require.Equal(t, ada.status(projection.At(at)), d.status(projection.At(at)), "%s, at %s", what, at)
				for _, who := range []*device{ada, ben} {
					known := projection.Moment{Known: projection.Known{Member: who.Key(), At: events.Some(at)}}
					require.Equal(t, ada.status(known), d.status(known), "%s, as known to %s at %s", what, who.name, at)
				}
			}
		}
	}
	same("after both bundles", ben)

	cy, dan := x.joins("cy", events.Viewer), x.joins("dan", events.Viewer)
	for _, b := range [][]byte{fromAda, fromBen} {
		cy.takes(b)
	}
	for _, b := range [][]byte{fromBen, fromAda, fromBen} {
		dan.takes(b)
	}
	cyLog, danLog := cy.bundle(), dan.bundle()
	cy.takes(danLog)
	dan.takes(cyLog)
	ada.takes(cyLog)
	ada.takes(danLog)
	final := ada.bundle()
	for _, d := range []*device{ben, cy, dan} {
		d.takes(final)
	}
	same("after a third and a fourth got the bundles in either order", ben, cy, dan)

	for _, d := range []*device{ada, ben, cy} {
		d.reopen()
	}
	same("after opening again", ben, cy, dan)
}

func TestReopenedEqualsLive(t *testing.T) {
	_, ada, ben, moments := apart(t)
	ada.takes(ben.bundle())
	live := []string{ada.status(projection.Moment{})}
	for _, at := range moments {
		live = append(live, ada.status(projection.At(at)))
	}
	ada.reopen()
	again := []string{ada.status(projection.Moment{})}
	for _, at := range moments {
		again = append(again, ada.status(projection.At(at)))
	}
	require.Equal(t, live, again)
}
