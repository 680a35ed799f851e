package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
)

// What is told while serving bears the site's time, and has nothing folded for it,
// however much has come in.
func TestATimeIsToldWithoutAFold(t *testing.T) {
	d := &desk{t: t, dir: t.TempDir(), opts: member.World{Now: func() events.Stamp {
		return events.Stamp{Wall: events.Wall{At: events.InstantOf(time.Date(2026, 3, 2, 15, 4, 5, 0, time.UTC))}}
	}, Rand: rand.Reader}}
	m, _, err := d.home("ann").Init(context.Background(), member.Opening{Name: "Kiln", Person: "Ann", Zone: "Asia/Tokyo", Practice: true})
	require.NoError(t, err)
	defer func() { require.NoError(t, m.Close()) }()
	var out bytes.Buffer
	told := &teller{a: &app{surroundings: surroundings{stdout: &out}, cli: &cli{}, world: d.opts}, m: m}
	told.begin(nil)
	tells := func() uint64 {
		d.writes(m, 1, 10)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		told.tell("took", "an entry came", bus.Notice{})
		runtime.ReadMemStats(&after)
		require.Equal(t, "00:04:05  an entry came\n", out.String())
		out.Reset()
		return after.TotalAlloc - before.TotalAlloc
	}
	tells()
	d.writes(m, 1000, 10)
	require.Less(t, tells(), uint64(64<<10))
}
