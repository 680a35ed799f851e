package member

import (
	"errors"
	"fmt"
	"io"
	"log/slog"
	"slices"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
)

// World is what a member needs of its surroundings.
type World struct {
	Now    func() events.Stamp // reads this device's clocks
	Rand   io.Reader           // fit for secrets
	Log    *slog.Logger        // hears of trouble; nil for silence
	MadeUp bool                // the clocks are made up: fit for practice sites alone

	// Passphrase asks for the one that a site's keys are locked with, from a person
	// or from a file of theirs; nil where nobody can be asked.
	Passphrase func(SiteInfo) (string, error)
	Lacks      []events.Kind // kinds to take for unknown, as an older version would; for trials

	// Together does pieces of work that have nothing to do with each other, side by
	// side, and returns when all are done; nil for one after the other. A member starts
	// no goroutine of its own.
	Together func(work ...func())
}

// Errors where callers branch.
var (
	ErrNoSite      = errors.New("no site is open here; open one with: pairwalk init NAME --as YOU")
	ErrWhichSite   = errors.New("several sites are open here; say which one with --site NAME")
	ErrNotPractice = errors.New("a made-up clock is for practice sites; this one is real, so unset PAIRWALK_CLOCK")
	ErrUnknown     = errors.New("not known on this site")
	ErrRole        = errors.New("your role on this site does not allow it")
	ErrKeysLocked  = errors.New("the keys of this site are locked, and nobody can be asked for the passphrase here")
	ErrPassphrase  = errors.New("wrong passphrase; nothing was changed")
)

// decode is what lines tell this installation.
func (w World) decode(lines []seal.Verified) []events.Event {
	return w.understood(journal.Events(lines))
}

// understood takes for unknown what this installation does not know.
func (w World) understood(evs []events.Event) []events.Event {
	if len(w.Lacks) == 0 {
		return evs
	}
	for i := range evs {
		if k := evs[i].Kind(); evs[i].Understood() && slices.Contains(w.Lacks, k) {
			evs[i].Payload = events.Opaque{Of: k, Why: fmt.Sprintf("kind %q is not known here", k)}
		}
	}
	return evs
}

func (w World) together(work ...func()) {
	if w.Together != nil {
		w.Together(work...)
		return
	}
	for _, do := range work {
		do()
	}
}

func (w World) wall() events.Instant { return w.Now().Wall.At }
