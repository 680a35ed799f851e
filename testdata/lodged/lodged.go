// Package lodged puts an invented job into the home of somebody who reads it, as
// if it had been fetched from colleagues: a real folder with a real journal, its
// receipts and marks, for benchmarks of whatever opens one.
package lodged

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"os"
	"time"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/events/seal"
	"pairwalk/syncd/member"
	"pairwalk/testdata/invent"
)

// Job is what is lodged: an invented job whose lines were signed once.
type Job struct {
	invent.Job
	Lines []seal.Verified
	Role  events.Role // of whoever joins; a viewer where nothing is said
}

// Of signs a job's lines.
func Of(j invent.Job) Job {
	out := Job{Job: j, Lines: make([]seal.Verified, 0, j.Count)}
	for v := range j.Lines() {
		out.Lines = append(out.Lines, v)
	}
	return out
}

// Bytes is how much the lines are together, as they stand in files.
func (j Job) Bytes() (n int) {
	for _, v := range j.Lines {
		n += len(v.Line()) + 1
	}
	return n
}

// World is a device on the evening after the last entry, whose clocks stand still
// within a minute of each other.
func (j Job) World() member.World {
	last := j.Lines[len(j.Lines)-1].Event().Wall.At.Add(12 * time.Hour)
	return member.World{
		Now: func() events.Stamp {
			return events.Stamp{Wall: events.Wall{At: last, Offset: 60}, Mono: events.Mono{Boot: "lodged", Ms: 3_600_000}}
		},
		Rand: rand.Reader,
	}
}

// Token is an invite from the job's lead, to be met at some places.
func (j Job) Token(role events.Role, meet ...invite.Meeting) (invite.Token, error) {
	var opened events.SiteOpened
	for _, v := range j.Lines {
		if p, ok := v.Event().Payload.(events.SiteOpened); ok {
			opened = p
			break
		}
	}
	key, lead := j.Lead()
	lead.Contact = ""
	return invite.NewToken(rand.Reader, key, j.Root(), lead, invite.Offer{
		SiteName: opened.Name, Practice: opened.Practice, Zone: opened.Zone, Role: role,
		Expires: j.World().Now().Wall.At.Add(24 * time.Hour), Meet: meet,
	})
}

// Join makes somebody a member of the job's site who has met nobody yet, in the
// folder given, which is made.
func (j Job) Join(folder, name string, meet ...invite.Meeting) (*member.Home, *member.Member, error) {
	token, err := j.Token(cmp.Or(j.Role, events.Viewer), meet...)
	if err != nil {
		return nil, nil, err
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, nil, err
	}
	home := member.NewHome(journal.Dir(folder), j.World())
	m, err := home.Join(context.Background(), token, name, "")
	return home, m, err
}

// In lodges the job in a folder, at somebody's who joined its site.
func (j Job) In(folder, name string) (*member.Home, error) {
	home, m, err := j.Join(folder, name)
	if err != nil {
		return nil, err
	}
	if err := m.Close(); err != nil {
		return nil, err
	}
	at := journal.Dir(folder)
	log, err := journal.Open(journal.Within(at, "sites/"+string(j.Site())), journal.Within(at, "marks"), j.Site(), journal.Env{Now: j.World().Now})
	if err != nil {
		return nil, err
	}
	const together = 500 // about as many as an exchange brings at a time
	for from := 0; from < len(j.Lines); from += together {
		if _, err := log.Take(context.Background(), j.Lines[from:min(from+together, len(j.Lines))]); err != nil {
			return nil, err
		}
	}
	return home, log.Close()
}

// Own are the lines of whoever the job was lodged with in a folder, for others who
// have heard of them.
func (j Job) Own(folder string) ([]seal.Verified, error) {
	at := journal.Dir(folder)
	log, err := journal.Open(journal.Within(at, "sites/"+string(j.Site())), journal.Within(at, "marks"), j.Site(), journal.Env{Now: j.World().Now})
	if err != nil {
		return nil, err
	}
	var out []seal.Verified
	for v, err := range log.All() {
		if err != nil {
			return nil, errors.Join(err, log.Close())
		}
		if v.Feed() == log.Own().Feed {
			out = append(out, v)
		}
	}
	return out, log.Close()
}
