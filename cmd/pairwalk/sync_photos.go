package main

import (
	"fmt"

	"pairwalk/events"
)

// This file is the part of a sync that is about pictures.

// even says whether everybody reached holds the same entries.
func (s *syncing) even() bool {
	for _, p := range s.end {
		if !p.Same {
			return false
		}
	}
	return len(s.end) > 0
}

// pictureBytes is how much of pictures came and went so far.
func (s *syncing) pictureBytes() int64 {
	var n int64
	for _, p := range s.end {
		x := s.m.Showing(p.Key)
		n += x.From + x.To
	}
	return n
}

// coming says what a sync is at.
func (s *syncing) coming() string {
	if !s.photos || !s.even() {
		return "exchanging"
	}
	want, lack := 0, 0
	for _, p := range s.end {
		x := s.m.Showing(p.Key)
		want, lack = want+x.Want, lack+x.Lack
	}
	if want+lack == 0 {
		return "exchanging"
	}
	return fmt.Sprintf("pictures: %d to come, %d to go", want, lack)
}

// pictures says what of the pictures is still to be exchanged with somebody.
func (s *syncing) pictures(with events.Key) {
	x := s.m.Showing(with)
	name := s.m.NameOf(with)
	was := s.began[with]
	if from, to := x.From-was.From, x.To-was.To; from+to > 0 {
		s.a.printf("  pictures: %s from %s, %s to them.\n", kib(from), name, kib(to))
	}
	if x.Want > 0 {
		s.a.println(s.a.warn(fmt.Sprintf("  %s still to come from %s; %s sync goes on where it stopped.", plural(x.Want, "picture"), name, s.a.name)))
	}
	if x.Lack > 0 && !x.Mute {
		s.a.println(s.a.warn(fmt.Sprintf("  %s held here and not by %s yet.", plural(x.Lack, "picture"), name)))
	}
	if x.Mute {
		s.a.println(s.a.warn(fmt.Sprintf("  %s's device does not exchange pictures: its pairwalk is older, or it did not answer.", name)))
	}
}
