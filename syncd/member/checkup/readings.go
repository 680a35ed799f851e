package checkup

import (
	"time"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/projection"
)

// Readings is one look at an installation.
type Readings struct {
	Home   string // its folder
	Folder Folder
	Now    events.Stamp // by the device's own clocks, whatever MadeUp says
	MadeUp string       // a made-up clock that is in force, as it was asked for
	BadUp  string       // why that can't be one, "" if it can
	Kept   int          // sites of this home, whether they were looked at or not
	Lost   string       // why the sites can't be listed, "" if they can
	Port   Port
	Sites  []Site // those looked at
}

// Folder is what was read of the home's folder and its disk.
type Folder struct {
	There  bool
	Wrong  string // why it can't be used as a folder, "" if it can
	Write  string // why a small file could not be written and taken away again, "" if it could
	Sync   time.Duration
	Room   events.Maybe[int64] // bytes that are free for this user
	System string              // the sort of file system, "" unknown
	Lies   Lie
	Modes  bool // permissions mean something on this platform
}

// Lie is where a folder lies.
type Lie string

// The places of a folder.
const (
	Unsaid Lie = ""       // the system does not tell
	Here   Lie = "here"   // on a disk of this device
	Share  Lie = "share"  // on another machine, over a network
	Synced Lie = "synced" // where the system keeps copies in step with a service
	Memory Lie = "memory" // nowhere once the device is off
)

// Port is the usual port of a serving process.
type Port struct {
	Number int
	Taken  bool
}

// Held is who has a site open.
type Held string

// The holders of a site.
const (
	Free   Held = "free"
	Served Held = "served" // by a serving process that takes commands
	Busy   Held = "busy"   // by another process
)

// Site is what was read of one site's files.
type Site struct {
	Named
	Folder string // for people to paste
	Bytes  int64  // of its files
	Most   int64  // bytes of the largest of them that is written whole when it is mended
	Open   []Exposed
	Others []string // files in its folders that are none of ours
	Held   Held
	Stale  bool // a serving process left its address behind and is gone
	Keys   Keyring

	Report   journal.Report // of the files as they are
	Unread   string         // why there is no report, "" if there is
	In, Out  journal.MarkCopy
	Markless string // why the marks can't be read, "" if they can

	Opened *Opened // nil where not even a copy can be opened
	Shut   string  // why not
}

// Exposed is a file or folder that others on this device may reach.
type Exposed struct {
	Path   string
	Secret bool // a file that holds a key
	Want   string
}

// Keyring is what was read of a site's keys. No secret is in it.
type Keyring struct {
	There bool
	Wrong string // why they can't be used, "" if they can
	Key   events.Key
	Fits  bool   // they are of the site whose folder they are in
	Guard string // how the secrets are kept, "" where in clear
}

// Opened is what a site says once it is open: a copy of it in memory, so that
// nothing was changed, and what is told of opening is what the next one will do.
type Opened struct {
	Since    events.Stamp // first opened in this boot
	Now      events.Stamp // by the clocks this site goes by
	Zone     string
	Zoned    bool           // the zone is known here
	Mine     events.Instant // of the last entry made here, 0 none
	Newest   Newest
	Apart    []Apart
	Standing Standing
	Leads    []string // admitted ones, by name

	Own      journal.Own
	Problems []journal.Problem
	Mends    []string // files that opening puts in order
	Entries  int
	Holes    []Lack
	Forks    []Branch
	Unread   map[string]int // entries of kinds not understood
	Pictures Pictures
	Unsent   int
	Peers    []Peer
	Places   []Place
	Called   bool // the places were called at
	Refusals int
}

// Newest is the newest of colleagues' last entries, by their own clocks.
type Newest struct {
	At events.Instant
	By string
}

// Apart is a colleague's clock: theirs less ours.
type Apart struct {
	Name string
	By   time.Duration
}

// Standing is where this installation's own join stands.
type Standing struct {
	Joined  bool
	Role    events.Role
	Is      projection.Standing
	Why     string
	Expires events.Maybe[events.Instant] // of the invite
}

// Lack is entries of somebody that are missing or damaged here.
type Lack struct {
	Name string
	N    int
}

// Branch is a forked feed.
type Branch struct {
	Name string
	Mine bool
}

// Pictures is what of the pictures is not here.
type Pictures struct {
	Held    int
	Away    int
	Bytes   int64    // of those that are away
	Damaged []string // by name
	Wrong   string   // why they could not be read
}

// Peer is a colleague.
type Peer struct {
	Name    string
	Is      projection.Standing
	Entries int
	Through events.Instant // by this device's clock, 0 never
	Holds   int            // of our entries, as far as is known
	Ours    int
}

// Place is where somebody was met.
type Place struct {
	Addr, Name string
	Key        events.Key // that their bus shows
	Why        string     // why nobody answered, "" if somebody did
	Stranger   bool       // somebody else answered
}
