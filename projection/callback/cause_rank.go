package callback

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// The weights, as the package explains them (common practice, no source).
const (
	perShare   = 2000
	perFit     = 1000
	inWindow   = 500
	confirmed  = 300
	turned     = 200
	perDirect  = 5
	newest     = 100
	perAgainst = 800
)

// may is the fit of a cause that may explain a symptom; below that it hardly does.
const may = 2

// standing is how a kind of cause is held: how directly an entry of it shows
// trouble, and how well it explains each symptom, 3 well to 0 not (common
// practice, no source).
type standing struct {
	direct                                       int
	noAnswer, wrongLevel, intermittent, alwaysOn int
}

var standings = map[CauseKind]standing{
	ByPower:       {90, 3, 0, 1, 0},
	ByLastPath:    {88, 3, 1, 2, 1},
	ByHubPower:    {86, 3, 1, 1, 1},
	ByPathCircuit: {84, 3, 1, 2, 1},
	ByHubLost:     {82, 3, 1, 1, 2},
	ByPathRouter:  {80, 3, 1, 2, 1},
	ByReplaced:    {78, 3, 2, 0, 2},
	ByNewChannel:  {76, 3, 2, 2, 2},
	ByUnpaired:    {74, 3, 1, 0, 2},
	BySerial:      {70, 3, 2, 1, 2},
	ByMissed:      {66, 3, 3, 1, 3},
	ByNotListed:   {64, 3, 3, 0, 3},
	ByStruck:      {62, 3, 1, 0, 2},
	ByEarlyPush:   {60, 3, 3, 1, 3},
	ByNotMerged:   {58, 3, 3, 1, 3},
	ByWeakLink:    {56, 2, 1, 3, 1},
	ByOldProgram:  {52, 1, 3, 1, 2},
	ByPushFailed:  {50, 1, 3, 1, 2},
	ByCuts:        {48, 1, 1, 3, 0},
	ByNotPushed:   {46, 2, 2, 0, 3},
	ByNotPaired:   {45, 2, 2, 0, 3},
	ByOtherHub:    {44, 2, 2, 1, 2},
	ByFailedCheck: {42, 2, 3, 2, 3},
	ByMoved:       {38, 2, 1, 3, 1},
	ByHeld:        {36, 2, 1, 0, 1},
	ByOpenFault:   {34, 1, 1, 1, 1}, // one more where it says what is wrong
	ByNeverHeard:  {30, 2, 1, 1, 2},
	BySingle:      {5, 1, 0, 2, 0},
}

// fit is how well a kind explains a symptom.
func (k CauseKind) fit(s Symptom) int {
	y := standings[k]
	switch s {
	case NoAnswer:
		return y.noAnswer
	case WrongLevel:
		return y.wrongLevel
	case Intermittent:
		return y.intermittent
	case AlwaysOn:
		return y.alwaysOn
	}
	return max(y.noAnswer, y.wrongLevel, y.intermittent, y.alwaysOn)
}

// causes are all that was found, in their rank.
func (x *inquiry) causes() []Cause {
	found := x.gather()
	for _, c := range found {
		x.finish(c)
	}
	slices.SortFunc(found, before)
	out := make([]Cause, len(found))
	for i, c := range found {
		out[i] = *c
	}
	return out
}

func before(a, b *Cause) int {
	if single := boolInt(a.Kind == BySingle) - boolInt(b.Kind == BySingle); single != 0 {
		return single
	}
	if w := cmp.Compare(b.Weight, a.Weight); w != 0 {
		return w
	}
	switch {
	case a.main.After(b.main):
		return -1
	case b.main.After(a.main):
		return 1
	}
	return cmp.Or(cmp.Compare(a.Kind, b.Kind), bySubject(a.Subject, b.Subject), a.main.Ref().Compare(b.main.Ref()))
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

// within says whether a cause happened in the time asked about.
func (x *inquiry) within(c *Cause) bool {
	return c.main.At >= x.From.Value && c.main.At <= x.To.Value
}

// weigh gives a cause its weight, and says in words what it is made of.
func (x *inquiry) weigh(c *Cause) {
	all := len(c.Devices) == len(x.devices)
	c.fit = c.Kind.fit(x.Symptom) + boolInt(c.named)
	w := perFit*c.fit + perDirect*standings[c.Kind].direct
	var why []string
	if x.Symptom != "" {
		why = append(why, []string{"does not explain " + string(x.Symptom), "hardly explains " + string(x.Symptom), "may well be behind " + string(x.Symptom), "explains " + string(x.Symptom) + " well"}[c.fit])
	}
	if len(x.devices) > 1 {
		w += perShare * len(c.Devices) / len(x.devices)
		why = append(why, ofAll(len(c.Devices), len(x.devices), all))
	}
	switch {
	case c.Kind == BySingle:
		why = append(why, "comes last, since no entry says that it happened")
	case x.within(c):
		w += inWindow
		why = append(why, "happened in the time asked about")
	default:
		why = append(why, "happened before the time asked about")
	}
	if c.better {
		w += confirmed
		why = append(why, "without it things would be better, as computed")
	}
	if c.tipped {
		w += turned
		why = append(why, "the way home got worse when it happened, as computed")
	}
	w += max(0, newest-int(x.To.Value.Sub(c.main.At)/(24*time.Hour)))
	if n := len(c.Against); n > 0 {
		w -= perAgainst * min(2, n)
		why = append(why, "but "+counted(n, "entry")+" against it")
	}
	c.Weight = w
	c.Words = sentence(c.what) + " (It " + strings.Join(why, "; ") + ".)"
}

func ofAll(n, of int, all bool) string {
	if all {
		return fmt.Sprintf("concerns all %d devices asked about", of)
	}
	return fmt.Sprintf("concerns %d of the %d devices asked about", n, of)
}

// sentence begins with a capital, unless a name comes first, and ends in a stop.
func sentence(s string) string {
	for _, w := range []string{"circuit ", "hub ", "the ", "program ", "room ", "floor ", "walls ", "a ", "every "} {
		if strings.HasPrefix(s, w) {
			s = strings.ToUpper(s[:1]) + s[1:]
			break
		}
	}
	return s + "."
}

// suppose says what would be so without the entry that a cause rests on, where
// that is a matter of power, state or reach and can be computed.
func (x *inquiry) suppose(c *Cause) {
	switch c.Kind {
	case ByPower, ByHubPower, ByHubLost, ByWeakLink, ByNewChannel, ByUnpaired, ByReplaced, ByStruck, ByMoved, ByOtherHub:
	default:
		return
	}
	v := x.without(x.trouble(c)...)
	for _, t := range c.Devices {
		now, _ := x.site.Device(t)
		then, ok := v.site.Device(t)
		if !ok || now == nil {
			continue
		}
		if c.Counterfactual = x.differs(now, then, v); c.Counterfactual == "" {
			continue
		}
		c.better = c.better || x.improves(now, then, v)
		return
	}
}

// trouble lists the entries of a cause to leave out: those that tell the same as
// the main one.
func (x *inquiry) trouble(c *Cause) []events.Ref {
	refs := []events.Ref{c.main.Ref()}
	for _, e := range c.For {
		said, ok := x.said(e.Event)
		if ok && said.Event.Kind() == c.main.Event.Kind() && e.Event != c.main.Ref() && c.Kind != ByWeakLink && c.Kind != ByOtherHub {
			refs = append(refs, e.Event)
		}
	}
	return refs
}

// countedAs is what a device would be, by its state.
var countedAs = map[projection.State]string{
	projection.Listed:  "be on the schedule and not paired",
	projection.Fitted:  "be fitted and not paired",
	projection.Paired:  "be paired, and still settling",
	projection.Settled: "be paired and settled",
	projection.Pushed:  "be paired, and have its program",
}

// differs says what one device would be, had something not happened; "" where
// nothing differs.
func (x *inquiry) differs(now, then *projection.Device, v *view) string {
	var parts []string
	if now.Dark != nil && then.Dark == nil {
		parts = append(parts, "have power")
	}
	if now.Struck != nil && then.Struck == nil {
		parts = append(parts, "be on the schedule")
	}
	if now.State != then.State {
		parts = append(parts, countedAs[then.State])
	}
	a, _ := x.net.Reach(now.Device)
	b, ok := v.net.Reach(now.Device)
	unknown := ""
	if ok && (a.Answer != b.Answer || a.Why != b.Why) && level(v.net, now.Device) >= level(x.net, now.Device) {
		switch b.Answer {
		case mesh.Yes:
			parts = append(parts, fmt.Sprintf("reach its hub (%s)", b.Why))
		case mesh.No:
			parts = append(parts, fmt.Sprintf("still not reach its hub (%s)", b.Why))
		default:
			unknown = fmt.Sprintf("hether %s would reach its hub without it is not known (%s)", now.Device, b.Why)
		}
	}
	const computed = ", as computed by leaving it out."
	switch {
	case len(parts) == 0 && unknown == "":
		return ""
	case len(parts) == 0:
		return "W" + unknown + computed
	case unknown != "":
		unknown = "; w" + unknown
	}
	return fmt.Sprintf("Without it %s would %s%s%s", now.Device, strings.Join(parts, " and "), unknown, computed)
}

// improves says whether a device would be better off, had something not happened.
// What is not known is no better.
func (x *inquiry) improves(now, then *projection.Device, v *view) bool {
	return now.Dark != nil && then.Dark == nil || now.Struck != nil && then.Struck == nil ||
		now.State != then.State || level(v.net, now.Device) > level(x.net, now.Device)
}
