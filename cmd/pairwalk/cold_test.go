package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
)

// A command that has a part of the log read prints what it does with all of it read,
// ends alike, and says the very same entry.
func TestAPartOfTheLogIsEnoughForACommand(t *testing.T) {
	part := inventedHome(t, 1_500)
	whole := t.TempDir()
	require.NoError(t, os.CopyFS(whole, os.DirFS(part)))
	flagged := 0
	for _, line := range []string{
		"paired 1-110 SN-1", "paired 1-110 SN-1", "paired 1-112 SN-1 --how button", "paired 0-102 --to H2", "paired 0-102 --to H9", "paired 1-999 SN-3",
		"--json paired 1-111 SN-4", "paired 1-111 SN-5 --by Ilse", "paired 1-110 SN-6 --when 00:01", "paired X-1 SN-7 --new --kind dimmer --hub H1",
		"fitted 1-113 SN-8", "fitted 1-113", "refused 1-110 --why no-answer", "skipped 1-114 --why no-access", "skipped 1-101..1-104 --why no-access", "skipped 1-114,1-113 --why other",
		"unpaired 1-112 --why reset", "replaced 1-113 SN-9 --why dead", "heard 1-110", "heard 1-113", "measured 1-110 1-111 --rssi -71", "placed 1-110 1 2 3",
		"ready H1", "lost H1 --why dark", "ready H7", "ready h1", "channel H1 20", "loaded H1 --program r9", "push-failed H1 --why restarted", "pushed H1 --program r9",
		"power-off C1-1", "power-off C1-1 --dark 1-110,1-111", "power-on C1-1", "power-off 1-110", "power-on 1-110", "power-on C77",
		"fault 1-110 flickers", "fault nowhere flickers", "note H1 loud", "note site cold", "note member:Ilse late", "note circuit:C1-1 warm", "hold 1-110 --why wet", "lift 1-110", "lift 1-110",
		"paired 1-110 SN-1",
	} {
		t.Run(line, func(t *testing.T) {
			args := strings.Fields(line)
			args = append([]string{"log"}, args...)
			if args[1] == "--json" {
				args = append([]string{"--json", "log"}, args[2:]...)
			}
			told, code := prints(part, false, args)
			want, wantCode := prints(whole, true, args)
			require.Equal(t, want, told)
			require.Equal(t, wantCode, code)
			require.Equal(t, lastEntry(t, whole), lastEntry(t, part))
			if strings.Contains(told, "flagged") {
				flagged++
			}
		})
	}
	require.Greater(t, flagged, 8, "there was something to say of the entries")
}

// ids are what two entries of the same content differ in.
var ids = regexp.MustCompile(`\([0-9A-Z]{6}\)|"(ref|id)": "[^"]*"|"at": "[^"]*"|[0-9]{2}:[0-9]{2}  `)

// prints runs a command in this process.
func prints(home string, whole bool, args []string) (told string, code int) {
	var out bytes.Buffer
	s := process()
	s.stdout, s.stderr, s.whole, s.tty = &out, &out, whole, false
	code = run(context.Background(), append([]string{"--home", home}, args...), s)
	return ids.ReplaceAllString(out.String(), "…"), code
}

// lastEntry is the newest entry of a home's own feed, but for what no two entries of
// the same content have in common: ids, hashes, and when they were made.
func lastEntry(t *testing.T, home string) events.Event {
	t.Helper()
	dirs, err := filepath.Glob(filepath.Join(home, "sites", "*"))
	require.NoError(t, err)
	id := events.SiteID(filepath.Base(dirs[0]))
	j, err := journal.Look(journal.Dir(dirs[0]), journal.Dir(filepath.Join(home, "marks")), id, journal.Env{Now: deviceStamp})
	require.NoError(t, err)
	defer j.Close()
	own := j.Own()
	var last events.Event
	for v, err := range j.Lines(own.Feed, own.Head.Seq) {
		require.NoError(t, err)
		last = v.Event()
	}
	require.NotNil(t, last.Payload)
	last.Hash, last.Prev, last.ID = events.Hash{}, events.Hash{}, [16]byte{}
	last.HLC, last.Wall, last.Mono = events.HLC{}, events.Wall{}, events.Mono{}
	if last.When().Known {
		last.Told = events.NewTold(events.Some(events.Interval{}), last.By())
	}
	return last
}
