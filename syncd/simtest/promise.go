package simtest

import (
	"fmt"
	"slices"
)

// Promise is something that holds in every world.
type Promise string

// The promises; the package documentation says what each means.
const (
	Kept      Promise = "kept"
	OneNumber Promise = "one number"
	NotEarly  Promise = "not early"
	Heard     Promise = "heard"
	Quiet     Promise = "quiet"
	Blameless Promise = "blameless"
	Agreed    Promise = "agreed"
	Settled   Promise = "settled"
	Opens     Promise = "opens"
	Recorded  Promise = "recorded"
	Injected  Promise = "injected"
	NoPanic   Promise = "no panic"

	Rightful Promise = "nothing unauthorised folds"
	InSight  Promise = "no fork hides"
	Onward   Promise = "no hole stops others"
	Told     Promise = "damage is told"
	Readable Promise = "readable"

	EntriesFirst Promise = "entries first"
	Pictured     Promise = "pictured"
)

// Broken says which promise a run saw broken, and how. It is an error.
type Broken struct {
	Seed    uint64
	Promise Promise
	Why     string
}

func (b *Broken) Error() string {
	return fmt.Sprintf("seed %d breaks the promise %q: %s", b.Seed, b.Promise, b.Why)
}

// Fault is a kind of trouble that a world may have.
type Fault string

// The faults.
const (
	Partition Fault = "partition"     // a link went down
	Midway    Fault = "cut midway"    // a message was under way as it did
	Dropped   Fault = "message lost"  // on a link that stayed up
	Twice     Fault = "message twice" // delivered two times
	Late      Fault = "message late"  // by up to 15 s, so that others of the same link overtake it
	Garbled   Fault = "reply garbled" // a byte of it changed, or its end cut off
	Crash     Fault = "crash"         // of a process, its files stay as they are
	MidCall   Fault = "crash in call" // in the middle of a call on the disk
	PowerCut  Fault = "power cut"     // what was not synced may be lost; another boot
	Reboot    Fault = "reboot"        // in good order
	Step      Fault = "clock set"     // by seconds, minutes or hours
	Restore   Fault = "restored"      // the folder was put back to an earlier one
	LateJoin  Fault = "late join"     // somebody came by an invite while work was going on

	Flipped  Fault = "bit flipped"  // in a file, while no process ran
	Torn     Fault = "file torn"    // its end is gone, while no process ran
	Full     Fault = "disk full"    // writes failed for a while
	SyncFail Fault = "sync failed"  // once or a few times in a row
	TwinBorn Fault = "two devices"  // of one installation: a copy of it went on elsewhere
	Older    Fault = "older member" // took in an entry of a kind that it does not know
	Newer    Fault = "later kind"   // an entry of a kind that nobody knows yet

	Backdated Fault = "backdated"       // an entry with clocks, or a time, of long ago
	FarAhead  Fault = "far ahead"       // an entry with clocks of years to come
	Usurped   Fault = "usurped"         // said what its author's role may not
	VoidOther Fault = "void of others"  // by somebody who is no lead
	Junk      Fault = "junk feeds"      // many feeds of a member
	Strangers Fault = "strangers"       // feeds of somebody who never joined
	Apart     Fault = "fork told apart" // one branch to some, another to others
	Replayed  Fault = "words replayed"  // another's entry, said again as one's own
	Phantom   Fault = "seen phantoms"   // claims to have seen what does not exist
	Withheld  Fault = "line withheld"   // for good: others have what is before and after
	TokenUsed Fault = "token stolen"    // and used, besides the one it was meant for
	KeyStolen Fault = "keys stolen"     // with a device, whose owner is revoked then
	Revoked   Fault = "revoked"         // a member, by a lead
	Claimed   Fault = "false have"      // a peer claims what it does not hold
	Omitted   Fault = "reply with gaps" // lines left out of the middle of a reply
	Swapped   Fault = "other reply"     // not what was asked for
)

// Faults lists them all.
var Faults = slices.Concat(accidents, malice)

var accidents = []Fault{
	Partition, Midway, Dropped, Twice, Late, Garbled, Crash, MidCall, PowerCut, Reboot, Step, Restore, LateJoin,
	Flipped, Torn, Full, SyncFail, TwinBorn, Older, Newer,
}

// malice is what happens only in worlds where somebody is bad.
var malice = []Fault{
	Backdated, FarAhead, Usurped, VoidOther, Junk, Strangers, Apart, Replayed, Phantom, Withheld,
	TokenUsed, KeyStolen, Revoked, Claimed, Omitted, Swapped,
}

// Tally counts faults.
type Tally map[Fault]int

// Sum is how many there were of any kind.
func (t Tally) Sum() int {
	n := 0
	for _, c := range t {
		n += c
	}
	return n
}

// Report is what a run came to.
type Report struct {
	Seed     uint64
	Members  int
	Entries  int // in the log that all had in the end
	Messages int // that arrived
	Healing  int // of those, the most that a healing took until all was quiet
	Judged   int // judgements of a hub that were held against the true times
	Ready    int // of those, that push may go
	Unheard  int // of those, colleagues who had to be named, since they knew more
	Forks    int // branches beside the main ones in the end
	Photos   int // that people took
	Fetched  int // pictures that came to somebody from somebody else
	Injected Tally
	Numbers  []int // what happened, as a Plan may leave it out
	Story    []string
}
