package web_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/cmd/pairwalk/web"
	"pairwalk/events"
)

// What moves with few entries is marked apart, so that a page need not ask for it at
// each.
func TestMarksMoveOnlyWithWhatTheyStandFor(t *testing.T) {
	d := small(t)
	ben := d.joins("ben", events.Tech, 11)
	ben.takes(d.bundle())
	x := d.serve()
	s := x.follow(t)
	was := s.next()
	moves := func(why string, layout, team bool, does func()) {
		does()
		d.log(events.NoteAdded{Of: events.Site(), Text: "the last word is the one that has all"})
		entries := len(d.entries())
		is := s.until(func(x strip) bool { return x.Entries == entries })
		require.Equal(t, layout, is.Layout != was.Layout, "layout: %s", why)
		require.Equal(t, team, is.Team != was.Team, "team: %s", why)
		was = is
	}
	moves("a device was heard", false, false, func() { d.log(events.DeviceHeard{Device: "2-114", Hub: "H1"}) })
	moves("a device was moved", true, false, func() {
		d.log(events.DevicePlaced{Device: "2-114", Place: events.Point{X: 1000}})
	})
	moves("ben's log was taken", false, true, func() {
		d.pass(time.Minute)
		ben.takes(d.bundle())
		ben.log(events.NoteAdded{Of: events.Site(), Text: "x"})
		d.takes(ben.bundle())
	})
	moves("a stranger was refused", false, true, func() { d.Refused("192.0.2.3", "a stranger", "k") })
	moves("cleo joined", false, true, func() { d.takes(d.joins("cleo", events.Tech, 12).bundle()) })

	entries := len(d.entries())
	x.met.mu.Lock()
	x.met.within = []web.Within{{Member: "ben"}}
	x.met.mu.Unlock()
	x.met.news <- struct{}{}
	is := s.until(func(x strip) bool { return len(x.Within) > 0 })
	require.Equal(t, entries, is.Entries)
	require.NotEqual(t, was.Team, is.Team)
	require.Equal(t, was.Layout, is.Layout)
	x.met.news <- struct{}{}
	require.Equal(t, is.Team, s.next().Team, "nothing moved")
}

// Of hubs a page is told what it names.
func TestOfHubsWhatIsNamed(t *testing.T) {
	x := small(t).serve()
	type lists struct{ Hubs, Settle *[]any }
	all := told[lists](t, x.get("/api/hubs"))
	require.NotEmpty(t, all.Hubs)
	require.NotEmpty(t, all.Settle)
	require.Equal(t, lists{Hubs: all.Hubs}, told[lists](t, x.get("/api/hubs?lists=hubs")))
	require.Equal(t, lists{Settle: all.Settle}, told[lists](t, x.get("/api/hubs?lists=settle")))
}
