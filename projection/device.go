package projection

import (
	"pairwalk/events"
)

// State sums up how far a device has come.
type State string

// The states of a device, in order. A star device never settles: it goes from
// paired to pushed.
const (
	Listed  State = "listed"
	Fitted  State = "fitted"
	Paired  State = "paired"
	Settled State = "settled"
	Pushed  State = "pushed"
)

// Need is what a device wants next.
type Need string

// The needs, in the order they are met.
const (
	NeedResolve Need = "resolve"
	NeedPair    Need = "pair"
	NeedSerial  Need = "serial"
	NeedPush    Need = "push"
	NeedCheck   Need = "check"
	NeedMend    Need = "mend"
)

// Flag is something about a device worth a mark.
type Flag string

// The flags of a device.
const (
	FlagEmergency   Flag = "emergency"
	FlagFound       Flag = "found-in-field" // it was never on the schedule
	FlagStruck      Flag = "struck"
	FlagHold        Flag = "hold"
	FlagDark        Flag = "dark"
	FlagConflict    Flag = "conflict"
	FlagSkipped     Flag = "skipped"
	FlagRefused     Flag = "refused"
	FlagMissed      Flag = "missed"
	FlagNotReady    Flag = "hub-not-ready" // paired while its hub was not ready
	FlagNotListed   Flag = "not-in-program"
	FlagNotMerged   Flag = "not-merged"
	FlagOtherHub    Flag = "other-hub" // paired to a hub it is not scheduled on
	FlagChannel     Flag = "channel-changed"
	FlagFault       Flag = "fault"
	FlagProvisional Flag = "provisional" // the state rests on a provisional member's word
)

// Device is the facts of one position on the schedule.
type Device struct {
	*events.DeviceListed        // as last amended, never to be changed; Device is its tag now
	Row                  *Cause // the row behind it, nil for one found in the field
	Struck               *Cause
	Was                  []events.Tag // earlier tags

	Serial   events.Serial // of the unit that sits there, "" unknown
	Fitted   *Cause        // what last said so
	Paired   *Pairing
	Settles  events.Instant // site time its own wait ends, at the latest reading
	Unpaired *Cause         // reset, removed or replaced since it was last paired
	Replaced *Cause
	Refused  *Cause // since it was last paired
	Skipped  *Cause // since it was last paired
	Pushed   *Push  // the push it last took, since it was paired
	Missed   *Cause // the push it last missed, if none came after
	Heard    *Cause // since it was paired
	Checked  *Check // its own last check
	Placed   *Cause // a better place than the schedule's
	Accuracy int64  // mm
	Dark     *Cause // the entry that cut its power, nil while fed

	State State
	Since *Cause // the entry behind State, nil where only others speak of it
	Needs []Need
	Flags []Flag

	notReady       bool // its hub was not, when it was paired
	channelChanged bool // since it was pushed
	notMerged      bool // at the last push
	notListed      bool
	channel        events.Maybe[int] // the one it knows its hub to be on
}

// Pairing is a device joined to a hub.
type Pairing struct {
	Cause
	Device events.Tag // as it is called at this moment
	Hub    events.HubID
	Radio  events.Radio
	Serial events.Serial
	How    events.How

	Void        *Withdrawn // withdrawn, and by whom; still counted by the settle wait
	Quarantined string     // why its author may not say it, "" if they may
	Lost        bool       // a resolution says another pairing stands
}

// Withdrawn says who voided an entry and why.
type Withdrawn struct {
	Cause
	Why events.VoidWhy
	Own bool // by its own author
}

// Stands says whether the pairing is folded.
func (p Pairing) Stands() bool { return p.Void == nil && p.Quarantined == "" && !p.Lost }

// Push is a program sent out from a hub.
type Push struct {
	Cause
	Hub     events.HubID
	Program events.Program
	Tried   []events.Tag // empty for all
	Missed  []events.Tag
	Failed  string // why it came to nothing, "" if done

	tried, missed []int32 // the places in fold.table of Tried and Missed
}

// IsRouter says whether the device relays for others: mesh, and fed by mains.
func (d *Device) IsRouter() bool {
	return d.Radio == events.Mesh && d.Power == events.Mains && d.Is.Pairs()
}

// HubChannel is the mesh channel that the device knows its hub to be on.
func (d *Device) HubChannel() events.Maybe[int] { return d.channel }

// Has says whether a flag is set.
func (d *Device) Has(f Flag) bool {
	for _, x := range d.Flags {
		if x == f {
			return true
		}
	}
	return false
}

// Wants says whether a need is open.
func (d *Device) Wants(n Need) bool {
	for _, x := range d.Needs {
		if x == n {
			return true
		}
	}
	return false
}
