package simtest

import "fmt"

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
	Late      Fault = "message late"  // by up to 15 s, so that others overtake it
	Garbled   Fault = "reply garbled" // a byte of it changed, or its end cut off
	Crash     Fault = "crash"         // of a process, its files stay as they are
	MidCall   Fault = "crash in call" // in the middle of a call on the disk
	PowerCut  Fault = "power cut"     // what was not synced may be lost; another boot
	Reboot    Fault = "reboot"        // in good order
	Step      Fault = "clock set"     // by seconds, minutes or hours
	Restore   Fault = "restored"      // the folder was put back to an earlier one
	LateJoin  Fault = "late join"     // somebody came by an invite while work was going on
)

// Faults lists them all.
var Faults = []Fault{Partition, Midway, Dropped, Twice, Late, Garbled, Crash, MidCall, PowerCut, Reboot, Step, Restore, LateJoin}

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
