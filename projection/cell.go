package projection

import "pairwalk/events"

// device is a device while it is folded. There is one of each in every stage, so it is
// as small as can be: a cell of a table.
type device struct {
	row  *events.DeviceListed // as last amended; Device is its tag now. Never changed in place
	past *past
	standing
}

// standing is what is written of a device; see [Device].
type standing struct {
	Serial  events.Serial
	Paired  *Pairing
	Pushed  *Push
	Checked *Check
	cuts    *cut // the last is the one that it is dark with
	Settles events.Instant

	Row, Struck, Fitted, Unpaired, Replaced entry
	Refused, Skipped, Missed, Heard         entry

	channel int16 // the one it knows its hub to be on, where known
	signs   signs
}

// signs is what is noted of a device by yes or no, as bits.
type signs uint16

const (
	knowsChannel signs = 1 << iota
	channelChanged
	notReady
	notMerged
	notListed
	isMixed   // its serials are not all the same
	isRenamed //
	isPlaced  // at a better place than the schedule's
	isHome    // its pairing is in the design file
	isStar    // it is paired by that radio
	isMesh    // it is paired by that one
	isRouter  // by its row
	isUrgent  // its row calls it emergency lighting
	onOther   // it is paired to a hub that it is not scheduled on
)

func (d *device) is(s signs) bool { return d.signs&s != 0 }

// set notes one sign, or that it is none any more.
func (d *device) set(s signs, yes bool) {
	d.signs &^= s
	if yes {
		d.signs |= s
	}
}

// entry stands for one in few bytes: its number, from 1 on; 0 for none.
type entry int32

// causeOf is what an entry stands for, nil for none.
func (t *timeline) causeOf(e entry) *Cause {
	if e == 0 {
		return nil
	}
	return &t.laid.at(events.Number(e - 1)).Cause
}

// past is what was said of a device before, of which most facts change nothing.
type past struct {
	fold    int      // the number of the fold that may write it
	serials []*Cause // what gave it one, since it was last replaced
	acts    shelved[act]
	was     []events.Tag
	placed  entry // what last said where it sits
	guessed bool  // its radio is, for some pairing of it

	said  []said // the last pairing on each branch, in acts
	apart []unaware
	open  []both // of all those, the pairings that stand, which nobody has gone on from who had seen both
}

// tag is what the device is called now.
func (d *device) tag() events.Tag { return d.row.Device }

// hub is the one a device is paired to, else the one it is scheduled on.
func (d *device) hub() events.HubID {
	if d.Paired != nil {
		return d.Paired.Hub
	}
	return d.row.Hub
}

// schedule gives a device another row, which nobody changes any more.
func (d *device) schedule(row events.DeviceListed) {
	d.row = &row
	d.set(isRouter, row.Radio == events.Mesh && row.Power == events.Mains && row.Is.Pairs())
	d.set(isUrgent, row.Emergency)
	d.place()
}

// pair has a device be paired, or not.
func (d *device) pair(p *Pairing) {
	d.Paired = p
	d.set(isStar, p != nil && p.Radio == events.Star)
	d.set(isMesh, p != nil && p.Radio == events.Mesh)
	d.place()
}

// place notes whether it is where the schedule has it.
func (d *device) place() {
	d.set(onOther, d.Row != 0 && d.Paired != nil && d.Paired.Hub != d.row.Hub)
}

// dark is the entry that cut its power, nil while it is fed.
func (d *device) dark() *Cause {
	if d.cuts != nil {
		return d.cuts.cause
	}
	return nil
}
