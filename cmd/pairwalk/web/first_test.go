package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// A page asks for as much of a long answer as it shows. What it has of it then is the
// same as in the whole.

func TestTheFirstFaultsAreTheWorst(t *testing.T) {
	d := small(t)
	ref := map[string]events.Ref{}
	for i, severity := range []events.Severity{events.Minor, events.Major, events.Minor, events.Danger, events.Minor} {
		symptom := fmt.Sprint(i)
		ref[symptom] = d.log(events.FaultFound{Of: events.Device("2-114"), Symptom: symptom, Severity: severity})[0].Ref()
	}
	d.log(events.FaultFound{Of: events.Device("2-115"), Symptom: "5", Severity: events.Minor})
	d.log(events.FaultCleared{Fault: ref["1"]}, events.FaultCleared{Fault: ref["2"]})
	d.pass(49 * time.Hour)
	x := d.serve()
	all := told[member.FaultsAnswer](t, x.get("/api/faults"))
	require.Len(t, all.Faults, 6)

	first := func(query string, symptoms ...string) {
		t.Helper()
		got := told[member.FirstFaultsAnswer](t, x.get("/api/faults?"+query))
		require.Equal(t, [2]int{4, 2}, [2]int{got.Standing, got.Cleared})
		require.Equal(t, all.Moment, got.Moment)
		var want []member.FaultsOne
		for _, f := range all.Faults {
			for _, s := range symptoms {
				if f.Symptom == s {
					want = append(want, f)
				}
			}
		}
		require.Equal(t, want, append([]member.FaultsOne(nil), got.Faults...), query)
	}
	first("most=0")
	first("most=1", "3", "1")
	first("most=2", "3", "0", "1", "2")
	first("most=9", "0", "1", "2", "3", "4", "5")
	first("most=1&fault="+url.QueryEscape(ref["4"].String()), "3", "4", "1")
	first("most=0&subject=device:2-115", "5")
	require.Contains(t, refused(t, http.StatusBadRequest, x.get("/api/faults?most=some")), "whole number")
}

// Faults are as old as they are by this device's clock, on the very site of that time.
func TestFaultsAgeWhileNobodySaysAnything(t *testing.T) {
	d := small(t)
	found := d.log(events.FaultFound{Of: events.Device("2-114"), Symptom: "dark", Severity: events.Major})[0].Ref()
	d.log(events.FaultCleared{Fault: found})
	d.log(events.FaultFound{Of: events.Device("2-101"), Symptom: "hums", Severity: events.Minor})
	d.pass(73 * time.Hour)
	then := d.At(projection.Moment{When: events.Some(d.stamp().Wall.At)})
	require.Equal(t, member.FaultsOf(then, nil), d.Faults(projection.Moment{}, nil))
	require.Equal(t, 3, d.Faults(projection.Moment{}, nil).Faults[1].AgeDays)
}

func TestOfWhatIsWrongOnlyTheListsThatAreNamed(t *testing.T) {
	d := small(t)
	d.log(events.HoldPlaced{Of: events.Device("2-114"), Why: "wet paint"})
	x := d.serve()
	all, some := told[map[string]any](t, x.get("/api/trouble")), told[map[string]any](t, x.get("/api/trouble?lists=holds,conflicts"))
	require.Equal(t, map[string]any{"v": all["v"], "holds": all["holds"], "conflicts": all["conflicts"]}, some)
	require.NotEmpty(t, some["holds"])
}

func TestReachOfOneFloor(t *testing.T) {
	d := small(t)
	for tag, hub := range map[events.Tag]events.HubID{"1-001": "H1", "1-002": "H1", "2-101": "H2", "2-114": "H2"} {
		d.log(events.DevicePaired{Device: tag, Hub: hub})
	}
	x := d.serve()
	all := told[member.ReachAnswer](t, x.get("/api/reach"))
	floor := map[string]string{}
	for _, dev := range d.Now().Devices {
		floor[string(dev.Device)] = string(dev.Floor)
	}
	of := func(query string, keep func(tag string) bool) {
		t.Helper()
		want := all
		want.Devices = []member.ReachDevice{}
		for _, r := range all.Devices {
			if keep(r.Tag) {
				want.Devices = append(want.Devices, r)
			}
		}
		require.Less(t, len(want.Devices), len(all.Devices))
		require.Equal(t, want, told[member.ReachAnswer](t, x.get("/api/reach?"+query)))
	}
	here, elsewhere := all.Devices[0].Tag, ""
	for _, r := range all.Devices {
		if floor[r.Tag] != floor[here] {
			elsewhere = r.Tag
		}
	}
	require.NotEmpty(t, elsewhere)
	of("floor="+url.QueryEscape(floor[here]), func(tag string) bool { return floor[tag] == floor[here] })
	of("floor="+url.QueryEscape(floor[here])+"&device="+elsewhere, func(tag string) bool { return floor[tag] == floor[here] || tag == elsewhere })
	of("floor=none", func(string) bool { return false })
}
