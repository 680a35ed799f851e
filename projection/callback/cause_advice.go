package callback

import (
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection/walk"
)

// steps are what to check on site for one kind of cause, in order (common
// practice, no source). {it} stands for the subject, {them} for the devices, {one}
// for the first of these, {hub} for its hub.
type steps struct {
	check    []string
	cautions []string
	record   []string // without the name of the command; {entry} is the main entry's id
}

// The cautions that go together.
var (
	atPanel   = []string{walk.CautionPower, walk.CautionMains}
	atFitting = []string{walk.CautionMains, walk.CautionHeight}
	atPush    = []string{walk.CautionPush}
)

const (
	hearsThem  = "see whether {hub} hears {them}"
	pushAgain  = "ask first whether push may go, warn people, push to {them}, and see who misses it"
	whyNotPush = "settle {hub}"
)

var adviceOf = map[CauseKind]steps{
	ByPower: {
		[]string{"ask at the panel who switched {it} off, and whether anybody works on it: an entry is no isolation, and a breaker that is off may be somebody's lockout", "if nobody needs it off, have it switched on by whoever may", "see whether {them} {lights}", hearsThem},
		atPanel, []string{"log power-on {it}", "log heard {them}"},
	},
	ByHubPower: {
		[]string{"see whether {hub} shows that it has power", "ask at the panel who switched {it} off, and whether anybody works on it", "if nobody needs it off, have it switched on by whoever may", "see whether {hub} answers, and " + hearsThem},
		atPanel, []string{"log power-on {it}", "log ready {hub}", "log heard {them}"},
	},
	ByHubLost: {
		[]string{"see whether {hub} has power and its network", "see whether it answers, and on which channel it is", hearsThem},
		atPanel, []string{"log ready {hub}", "log heard {them}"},
	},
	ByPathCircuit: {
		[]string{"see whether the fittings on {it} are dark as well", "ask at the panel who switched {it} off, and whether anybody works on it", "if nobody needs it off, have it switched on by whoever may; put a label on it: others hang on it", "see whether {hub} hears {them}"},
		atPanel, []string{"log power-on {it}", "log heard {them}"},
	},
	ByPathRouter: {
		[]string{"go to {it}: is it in its place, has it power, does it answer {hub}?", "if it is to stay away, ask what carries {them} instead: pairwalk reach --advise", "else pair it again, stay beside it until it confirms, and wait for the settle time", "ask first whether push may go, warn people, and push to {it}", hearsThem},
		append(slices.Clone(atFitting), atPush...), []string{"log paired {it}", whyNotPush, "log pushed {hub} --program {program} --tried {it}", "log heard {them}"},
	},
	ByLastPath: {
		[]string{"see whether what went last is back: {it}; if it is a breaker, ask at the panel who switched it off, and whether anybody works on it", "see what carried {them} before that, and whether that can be put back too", "see whether {hub} hears {them}", "ask for one more relay: pairwalk reach --advise"},
		atPanel, []string{"{restore} {it}", "log heard {them}"},
	},
	ByWeakLink: {
		[]string{"look what stands between the two ends now: shelving, a door, water, people", "measure the link again, both ways, at the time of day of the complaint", "ask where one more relay would help: pairwalk reach --advise", hearsThem},
		[]string{walk.CautionHeight}, []string{"log measured {ends} --rssi DBM", "log heard {them}"},
	},
	ByNewChannel: {
		[]string{"read at {hub} which channel it is on", "if the change stands, call {hub} ready on it", pushAgain},
		atPush, []string{"log ready {hub}", whyNotPush, "log pushed {hub} --program {program}", "log heard {them}"},
	},
	ByEarlyPush: {
		[]string{hearsThem, pushAgain}, atPush, []string{whyNotPush, "log pushed {hub} --program {program} --tried {them}", "log heard {them}"},
	},
	ByNotMerged: {
		[]string{"bring the records home and have the office merge them", "load the new program on {hub}", pushAgain},
		atPush, []string{"merge out FILE", "log merged {hub}", "log loaded {hub} --program PROGRAM", "log pushed {hub} --program PROGRAM", "log heard {them}"},
	},
	ByMissed: {
		[]string{"see whether {them} {has} power, and {is} paired", "pair what never was, and stay beside it until it confirms", pushAgain},
		append(slices.Clone(atPush), atFitting...), []string{whyNotPush, "log pushed {hub} --program {program} --tried {them}", "log heard {them}"},
	},
	ByNotListed: {
		[]string{"have the office put {them} into the program of {hub}", "load it", pushAgain},
		atPush, []string{"log loaded {hub} --program PROGRAM", "log pushed {hub} --program PROGRAM --tried {them}", "log heard {them}"},
	},
	ByOldProgram: {
		[]string{"ask the office which program is meant to run", pushAgain}, atPush, []string{whyNotPush, "log pushed {hub} --program {program} --tried {them}", "log heard {them}"},
	},
	ByPushFailed: {
		[]string{"see whether {hub} answers", pushAgain}, atPush, []string{whyNotPush, "log pushed {hub} --program {program}", "log heard {them}"},
	},
	ByReplaced: {
		[]string{"read the label of the unit at {one}", "pair it, and stay beside it until it confirms", "bring the records home, and wait for the settle time", pushAgain},
		append(slices.Clone(atFitting), atPush...), []string{"log paired {one} SERIAL", whyNotPush, "log pushed {hub} --program {program} --tried {one}", "log heard {one}"},
	},
	ByUnpaired: {
		[]string{"ask why {one} was taken off its hub: {what}", "pair it again, and stay beside it until it confirms", "bring the records home, and wait for the settle time", pushAgain},
		atPush, []string{"log paired {one}", whyNotPush, "log pushed {hub} --program {program} --tried {one}", "log heard {one}"},
	},
	ByStruck: {
		[]string{"ask the office whether {one} was meant to go", "if not, have it listed again, pair it, and push"},
		atPush, []string{"import FILE", "log paired {one}", "log heard {one}"},
	},
	BySerial: {
		[]string{"read the label of each unit concerned, or have it photographed", "say what stands", "push again to those that changed"},
		atFitting, []string{"conflicts", "resolve KEY --stands N --why \"label read again\"", "log heard {them}"},
	},
	ByOtherHub: {
		[]string{"ask which hub {one} is meant to be on", "if it is the scheduled one, reset it and pair it there, wait, and push", "else have the schedule changed"},
		atPush, []string{"log unpaired {one} --why WHY", "log paired {one}", "log heard {one}"},
	},
	ByNotPushed: {
		[]string{pushAgain}, atPush, []string{whyNotPush, "log pushed {hub} --program {program} --tried {them}", "log heard {them}"},
	},
	ByNotPaired: {
		[]string{"see whether {them} {was} fitted at all, and {has} power", "pair, and stay beside it until it confirms", "bring the records home, and wait for the settle time", pushAgain},
		append(slices.Clone(atPush), atFitting...), []string{"log paired {one} SERIAL", whyNotPush, "log pushed {hub} --program {program} --tried {them}", "log heard {them}"},
	},
	ByNeverHeard: {
		[]string{hearsThem, "if not, see whether it has power, and what is between it and the next router"},
		[]string{walk.CautionHeight}, []string{"log heard {them}"},
	},
	ByFailedCheck: {
		[]string{"do the test again", "if it fails, take down the reading and who is to mend it"},
		atPush, []string{"log check {it} --test {test} --pass", "log fault {it} \"WHAT\""},
	},
	ByOpenFault: {
		[]string{"look at what was found: {what}", "ask whose it is to mend, and how far they are"},
		atFitting, []string{"log assigned {entry} --trade {trade}", "log cleared {entry} --action \"WHAT\""},
	},
	ByHeld: {
		[]string{"ask whoever asked for the hold whether it is over", "if it is, see whether {them} {has} power"},
		[]string{walk.CautionHold, walk.CautionPower}, []string{"log lift {it}", "log heard {them}"},
	},
	ByMoved: {
		[]string{"see where it sits now, and what was built between", "measure the links", "ask where one more relay would help: pairwalk reach --advise"},
		[]string{walk.CautionHeight}, []string{"log measured {one} OTHER --rssi DBM", "log heard {them}"},
	},
	ByCuts: {
		[]string{"ask who switches {it}, and when", "see whether it has a switch or contactor that is to stay on, and label it", hearsThem + " after the next time"},
		atPanel, []string{"log power-off {it} --dark TAGS", "log power-on {it}", "log heard {them}"},
	},
	BySingle: {
		[]string{"see whether {it} has power: only look, somebody may be working on it", hearsThem, "ask for one more relay: pairwalk reach --advise"},
		atPanel, []string{"log heard {them}", "log power-off {it}"},
	},
}

// tagList writes tags as commands take them; whoever has more than a line of them
// types a range.
func tagList(tags []events.Tag) string {
	const most = 8
	if len(tags) > most {
		return "TAGS"
	}
	words := make([]string, len(tags))
	for i, t := range tags {
		words[i] = string(t)
	}
	return strings.Join(words, ",")
}

// argument names a subject as commands take it.
func argument(s events.Subject) string {
	switch s.Class {
	case events.OfDevice, events.OfHub:
		return quoted(s.ID)
	}
	return quoted(s.String())
}

// quoted puts quotes around what a shell would split or read otherwise.
func quoted(s string) string {
	plain := func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_.,:/+", r)
	}
	if s != "" && strings.IndexFunc(s, func(r rune) bool { return !plain(r) }) < 0 {
		return s
	}
	return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
}
