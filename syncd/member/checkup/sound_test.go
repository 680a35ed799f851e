package checkup_test

import (
	"time"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/syncd/member/checkup"
)

const (
	kiln = events.SiteID("kiln4567kiln4567kiln4567kiln4567kiln4567kiln4567kilnaa")
	mine = events.Key("annannannannannannannannannannannannannannannannanna")
	feed = events.FeedID(mine + ".aaaaaaaaaaaaa")
)

var noon = events.InstantOf(time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC))

// stampAt is both clocks after so many minutes of one boot.
func stampAt(minutes int64) events.Stamp {
	return events.Stamp{Wall: events.Wall{At: noon + events.Instant(minutes*60_000)}, Mono: events.Mono{Boot: "monday", Ms: 3_600_000 + minutes*60_000}}
}

// sound is an installation with nothing to tell: two leads, and all is everywhere.
func sound() checkup.Readings {
	mark := journal.MarkCopy{There: true, Turn: 7, Feed: feed, Seq: 9, Clean: true, Boot: "monday"}
	return checkup.Readings{
		Home:   "/h",
		Folder: checkup.Folder{There: true, Sync: 3 * time.Millisecond, Room: events.Some(int64(10 << 30)), System: "ext", Lies: checkup.Here, Modes: true},
		Now:    stampAt(60), Kept: 1, Port: checkup.Port{Number: 24517},
		Sites: []checkup.Site{{
			Named:  checkup.Named{ID: kiln, Name: "Kiln", You: "Ann"},
			Folder: "/h/sites/kiln", Bytes: 40_000, Most: 20_000, Held: checkup.Free,
			Keys:   checkup.Keyring{There: true, Key: mine, Fits: true},
			Report: journal.Report{Strands: []journal.Strand{{File: "feeds/a.ndjson", Feed: feed, Lines: 9}, {File: "feeds/b.ndjson", Lines: 4}}},
			In:     mark, Out: mark,
			Opened: &checkup.Opened{
				Since: stampAt(0), Now: stampAt(60), Zone: "Europe/Vienna", Zoned: true,
				Mine: noon, Newest: checkup.Newest{At: noon, By: "Bo"},
				Standing: checkup.Standing{Joined: true, Role: events.Lead, Is: projection.Admitted},
				Leads:    []string{"Ann", "Bo"},
				Own:      journal.Own{Feed: feed, Head: events.Head{Seq: 9}},
				Entries:  13, Pictures: checkup.Pictures{Held: 2},
				Peers:  []checkup.Peer{{Name: "Bo", Is: projection.Admitted, Entries: 4, Through: noon, Holds: 9, Ours: 9}},
				Places: []checkup.Place{{Addr: "192.0.2.17:24517", Name: "Bo"}},
			},
		}},
	}
}
