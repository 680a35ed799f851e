package events

// Words of the trade that a body may hold. Each list is closed: a new word is a
// new kind.

// DeviceKind is what a device is.
type DeviceKind string

// The kinds of device. A wired remote and a stand-alone unit never pair.
const (
	Dimmer      DeviceKind = "dimmer"
	Switch      DeviceKind = "switch"
	Driver      DeviceKind = "driver"
	WallControl DeviceKind = "wall-control"
	Sensor      DeviceKind = "sensor"
	Relay       DeviceKind = "relay"
	WiredRemote DeviceKind = "wired-remote"
	Standalone  DeviceKind = "standalone"
)

// DeviceKinds lists them in the order people are shown.
var DeviceKinds = []DeviceKind{Dimmer, Switch, Driver, WallControl, Sensor, Relay, WiredRemote, Standalone}

// Pairs says whether devices of this kind are ever paired to a hub.
func (k DeviceKind) Pairs() bool { return k != WiredRemote && k != Standalone }

// UsualPower is how a device of this kind is taken to be fed where nobody says: a
// sensor from a battery, everything else from the mains (common practice, no
// source). The log doesn't keep whether anybody said so.
func (k DeviceKind) UsualPower() Power {
	if k == Sensor {
		return Battery
	}
	return Mains
}

// UsualRadio is what a device is taken to speak where nobody says.
const UsualRadio = Mesh

// How suggests the way such a device is usually paired: one with a button
// within reach by its button, a fitting by a broadcast from nearby (common
// practice, no source).
func (k DeviceKind) How() How {
	if k == Driver || k == Relay {
		return ByBroadcast
	}
	return ByButton
}

// Radio is the network a device joins its hub over.
type Radio string

// Mesh devices relay for each other and settle after pairing; star devices talk
// to the hub alone and need no settling.
const (
	Mesh Radio = "mesh"
	Star Radio = "star"
)

// Radios lists them.
var Radios = []Radio{Mesh, Star}

// Power is how a device is fed. Mains mesh devices relay; battery ones sleep.
type Power string

// The ways a device is fed.
const (
	Mains   Power = "mains"
	Battery Power = "battery"
)

// Powers lists them.
var Powers = []Power{Mains, Battery}

// How says how a device was paired.
type How string

// The ways to pair.
const (
	ByButton    How = "button"
	ByBroadcast How = "broadcast"
	ByLabel     How = "label"
)

// Hows lists them.
var Hows = []How{ByButton, ByBroadcast, ByLabel}

// Source says how a serial came into the log.
type Source string

// The sources of a serial.
const (
	Scanned Source = "scan"
	Typed   Source = "typed"
	OnPaper Source = "paper"
)

// Sources lists them.
var Sources = []Source{Scanned, Typed, OnPaper}

// RefusedWhy says why a device would not pair.
type RefusedWhy string

// The reasons a device refuses.
const (
	NoAnswer      RefusedWhy = "no-answer"
	AlreadyPaired RefusedWhy = "already-paired"
	NeverPairs    RefusedWhy = "never-pairs"
	OutOfReach    RefusedWhy = "out-of-reach"
	RefusedOther  RefusedWhy = "other"
)

// RefusedWhys lists them.
var RefusedWhys = []RefusedWhy{NoAnswer, AlreadyPaired, NeverPairs, OutOfReach, RefusedOther}

// SkippedWhy says why a device could not be done now.
type SkippedWhy string

// The reasons to skip.
const (
	NoAccess     SkippedWhy = "no-access"
	NoPower      SkippedWhy = "no-power"
	NotFitted    SkippedWhy = "not-fitted"
	Damaged      SkippedWhy = "damaged"
	SkippedOther SkippedWhy = "other"
)

// SkippedWhys lists them.
var SkippedWhys = []SkippedWhy{NoAccess, NoPower, NotFitted, Damaged, SkippedOther}

// VoidWhy says what was wrong with a voided event.
type VoidWhy string

// A thing that did not happen is gone; a wrong detail leaves the act standing,
// which the settle wait has to know.
const (
	DidNotHappen VoidWhy = "did-not-happen"
	WrongDetail  VoidWhy = "wrong-detail"
)

// VoidWhys lists them.
var VoidWhys = []VoidWhy{DidNotHappen, WrongDetail}

// Role is what a member may do on a site.
type Role string

// The roles.
const (
	Lead      Role = "lead"
	Tech      Role = "tech"
	Viewer    Role = "viewer"
	RelayRole Role = "relay"
)

// Roles lists them.
var Roles = []Role{Lead, Tech, Viewer, RelayRole}

// StartWhy says why a feed began.
type StartWhy string

// A first feed is new; the others replace one that can't safely be continued.
const (
	NewFeed  StartWhy = "new"
	Restored StartWhy = "restored"
	TornTail StartWhy = "torn"
	Diverged StartWhy = "diverged"
)

// StartWhys lists them.
var StartWhys = []StartWhy{NewFeed, Restored, TornTail, Diverged}

// Severity is how bad a fault is.
type Severity string

// The severities, worst first.
const (
	Danger Severity = "danger"
	Major  Severity = "major"
	Minor  Severity = "minor"
)

// Severities lists them.
var Severities = []Severity{Danger, Major, Minor}

// TestKind is a functional test of a room or device.
type TestKind string

// The functional tests.
const (
	TestOccupancy  TestKind = "occupancy"
	TestVacancy    TestKind = "vacancy"
	TestDaylight   TestKind = "daylight"
	TestTimeSwitch TestKind = "time-switch"
	TestManual     TestKind = "manual"
	TestEgress     TestKind = "egress"
	TestAnswer     TestKind = "answer"
	TestOther      TestKind = "other"
)

// TestKinds lists them.
var TestKinds = []TestKind{TestOccupancy, TestVacancy, TestDaylight, TestTimeSwitch, TestManual, TestEgress, TestAnswer, TestOther}
