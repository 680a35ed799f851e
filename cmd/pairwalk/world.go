package main

import (
	"crypto/rand"
	"log/slog"
	"sync"

	"pairwalk/syncd/member"
)

// newWorld gives a member its clocks. A made-up one is for practice.
func newWorld(s surroundings) (member.World, error) {
	if s.host != nil {
		return s.host.world, nil
	}
	w := member.World{Now: s.now, Rand: rand.Reader, Log: slog.New(slog.DiscardHandler), Together: sideBySide}
	if spec := s.env("PAIRWALK_CLOCK"); spec != "" {
		now, err := madeUpClock(spec, s.now)
		if err != nil {
			return w, err
		}
		w.Now, w.MadeUp = now, true
	}
	return w, nil
}

// sideBySide does pieces of work at once, and returns when all are done.
func sideBySide(work ...func()) {
	var all sync.WaitGroup
	for _, do := range work {
		all.Go(do)
	}
	all.Wait()
}
