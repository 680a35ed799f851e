package mesh

import (
	"pairwalk/events"
	"pairwalk/projection"
)

// Answer says whether a device has a path to its hub.
type Answer string

// The answers.
const (
	Yes     Answer = "yes"
	No      Answer = "no"
	Unknown Answer = "unknown"
)

// Basis says what an answer or a link rests on.
type Basis string

// The bases, best first.
const (
	Observed  Basis = "observed"
	Measured  Basis = "measured"
	Predicted Basis = "predicted"
	NoBasis   Basis = "none"
)

// Range is a span of values that are not known better: centi-dB of a margin, or
// millionths of a probability.
type Range struct{ Lo, Hi int64 }

// Link is what radio can do between two places, or what was measured there.
type Link struct {
	A, B     events.Tag // devices, or a hub by its id
	Radio    events.Radio
	Basis    Basis // measured or predicted
	Margin   Range // centi-dB over what a receiver needs: about two of three such links
	Mean     int64 // centi-dB, the middle of it
	Chance   Range // millionths, that it holds at all
	ETX      int64 // millionths of a transmission: what one delivery takes
	Sure     bool  // Mean is at least the fade margin
	Possible bool  // the kind end of Margin is above nothing
	Metres   events.Maybe[float64]
	Floors   int               // slabs between
	Walls    int               // listed walls between
	Measured *projection.Cause // the newest measurement that counts
	LQI      events.Maybe[int] // as last measured; says nothing of the margin
}

// Reach is whether, and how well, a device has a path to its hub.
type Reach struct {
	Device   events.Tag
	Hub      events.HubID
	Answer   Answer
	Basis    Basis
	Hops     int                 // 0 where no path is known
	Path     []events.Tag        // device … hub, both ends; nil where none is known
	Margin   events.Maybe[Range] // centi-dB, of the weakest link of the path
	Chance   events.Maybe[Range] // millionths, that every link of it holds
	Weakest  *Link
	Disjoint events.Maybe[bool] // two paths with nothing in common but their ends
	Why      string
	Since    events.Maybe[events.Instant] // when it was last observed; of one that is off the air, when it went
}

// Island is a group of paired devices with no path home.
type Island struct {
	Hub     events.HubID
	Devices []events.Tag
	Sure    bool // no path even at the kind end; else doubtful
	Why     string
}

// SinglePoint is a device or circuit that others lose every path with.
type SinglePoint struct {
	Of      events.Subject // device or circuit
	Hub     events.HubID
	Strands []events.Tag // those that keep power and lose their path
	Dark    []events.Tag // those of this hub that lose power with it
	Learned []events.Tag // of Dark, those only seen to go dark with it
}
