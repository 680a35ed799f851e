package handover_test

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection/handover"
)

// Of the bare list nobody said how a device is fed, what radio it speaks, or whether it
// is emergency lighting. What the log takes for granted is no fact.
func TestNoDefaultIsPrintedAsAFact(t *testing.T) {
	d := bare(t).document()
	for _, r := range table(t, d, "devices", "All devices: what they are and where they sit").Rows {
		require.NotContains(t, r[1], ",", "the kind alone: %s", r[0])
	}
	require.Contains(t, part(t, d, "devices"), "where it does not, nobody need have looked")
	for _, p := range d.Parts {
		for _, b := range p.Blocks {
			x, ok := b.(handover.Table)
			for _, r := range x.Rows {
				for _, cell := range r {
					for _, taken := range []string{"mesh", "mains", "emergency"} {
						require.False(t, ok && strings.Contains(cell, taken), "%s: %q", x.Caption, cell)
					}
				}
			}
		}
	}
	j := bare(t)
	j.say(events.DeviceListed{Device: "9-1", Is: events.WallControl, Hub: "H1", Radio: events.Star, Power: events.Battery})
	require.Equal(t, "wall-control, star, battery", row(t, j.document(), "devices", "All devices: what they are and where they sit", "9-1")[1], "that, somebody said")
}

// That a hub heard a device is no test that anybody recorded: it is counted apart.
func TestADeviceThatAnsweredIsNoTest(t *testing.T) {
	j := bare(t)
	j.say(events.HubReady{Hub: "H1"}, events.DevicePaired{Device: "B1-102", Hub: "H1"}, events.DeviceHeard{Device: "B1-102", Hub: "H1"})
	d := j.document()
	words := part(t, d, "tests")
	require.Contains(t, words, "Functional tests: 6 (6 not done)\nDevices that are to answer their hub: 1 (1 passed)\nStill owed, of both: 6\n")
	require.Contains(t, part(t, d, "summary"), "Functional tests: 6 (6 not done)\nDevices that are to answer their hub: 1 (1 passed)\n")
	for _, of := range []string{words, part(t, d, "inspector")} {
		require.Contains(t, of, "(Nobody has recorded a functional test. Which devices their hub has heard is in the list of devices.)")
		require.NotContains(t, of, "No test result is recorded")
	}
}

// Every photo of the log is named by its checksum, of whatever it is, and whether it is
// there.
func TestEveryPhotoIsNamed(t *testing.T) {
	j := bare(t)
	shown, lost := picture(), sha256.Sum256([]byte("lost"))
	j.say(events.PhotoAdded{Of: events.Device("1-102"), Caption: "the label", Picture: events.Picture{SHA256: sumOf(shown), Bytes: 9, Type: "image/png"}})
	j.say(events.PhotoAdded{Of: events.Hub("H1"), Caption: "the box", Picture: events.Picture{SHA256: hex.EncodeToString(lost[:]), Bytes: 4, Type: "image/jpeg"}})
	rows := table(t, j.document(shown), "record", "Photos of the log").Rows
	require.Len(t, rows, 2)
	require.Equal(t, []string{"1-102", "the label"}, rows[0][:2])
	require.Contains(t, rows[0][2], "lead")
	require.Equal(t, []string{sumOf(shown), "in photos/"}, rows[0][3:])
	require.Equal(t, []string{hex.EncodeToString(lost[:]), "missing: this pack's maker did not hold it"}, rows[1][3:])
	require.Contains(t, part(t, bare(t).document(), "record"), "(Nobody has added a photo.)")
}

// The names that settings have for programs stand in the list of settings alone.
func TestSettingsAreNotNamedAsForPrograms(t *testing.T) {
	j := works(t)
	j.say(events.SettingsChanged{Set: map[events.SettingKey]string{events.OffWithin: "15"}})
	d := j.document()
	require.Contains(t, part(t, d, "record"), string(events.OffWithin))
	require.Contains(t, part(t, d, "inspector"), "| as set on this site |")
	for _, p := range d.Parts {
		if p.ID == "record" {
			continue
		}
		for _, s := range events.Settings {
			require.NotContains(t, p.Lead+blocks(p.Blocks), string(s.Key), p.ID)
		}
	}
}

// A drawing's legend tells kinds from states.
func TestTheLegendTellsShapesFromFills(t *testing.T) {
	for _, x := range drawings(works(t).document()) {
		had := map[string]bool{}
		for _, m := range x.Legend {
			require.True(t, strings.HasPrefix(m.Label, "kind: ") || strings.HasPrefix(m.Label, "any shape, "), m.Label)
			require.False(t, had[m.Label])
			had[m.Label] = true
		}
	}
}
