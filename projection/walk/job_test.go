package walk_test

import (
	"strings"

	"pairwalk/events"
	"pairwalk/projection/checks"
	"pairwalk/projection/settle"
	"pairwalk/projection/tale"
	"pairwalk/projection/walk"
)

// job is a site with hub H1 on floor 1, and ann who leads.
type job struct {
	*tale.Story
	ann *tale.Teller
}

// newJob lists the devices on H1, and has the hub ready with a program for all.
func newJob(devices ...events.DeviceListed) *job {
	s := tale.New()
	j := &job{s, s.Lead}
	j.ann.Say("08:00", events.HubListed{Hub: "H1", Floor: "1", Room: "plant"})
	for _, d := range devices {
		j.ann.Say("08:00", d)
	}
	j.ann.Say("08:00", events.HubLoaded{Hub: "H1", Program: "r1", All: true})
	j.ann.Say("08:00", events.HubReady{Hub: "H1"})
	return j
}

func dimmer(tag events.Tag) events.DeviceListed {
	return events.DeviceListed{Device: tag, Is: events.Dimmer, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Floor: "1"}
}

func star(tag events.Tag) events.DeviceListed {
	d := dimmer(tag)
	d.Radio = events.Star
	return d
}

func emergency(tag events.Tag) events.DeviceListed {
	d := dimmer(tag)
	d.Emergency = true
	return d
}

func on(hub events.HubID, d events.DeviceListed) events.DeviceListed {
	d.Hub = hub
	return d
}

func paired(tag events.Tag) events.DevicePaired {
	return events.DevicePaired{Device: tag, Hub: "H1", Serial: events.Serial("S" + tag)}
}

// comesHome exports everything and has it merged.
func (j *job) comesHome(clock string) {
	j.ann.Say(clock, events.RecordsExported{Export: "at " + clock, Heads: j.Now().Heads})
	j.ann.Say(clock, events.RecordsMerged{Export: "at " + clock})
}

// next is what ann could do at a true time, with everything said so far heard.
func (j *job) next(clock string) []walk.Step { return j.nextOf(j.ann, clock) }

func (j *job) nextOf(t *tale.Teller, clock string) []walk.Step {
	s, now := j.Now(), t.Stamp(tale.T(clock))
	heard := map[events.Key]settle.Heard{}
	if t == j.ann {
		for _, m := range s.Members {
			if m.Name != "silent" {
				heard[m.Key] = settle.Heard{At: now}
			}
		}
	}
	receipt := func(r events.Ref) (events.Stamp, bool) { return now, r.Feed != t.Feed }
	return walk.Next(s, t.Key, settle.All(s, settle.Local{Self: t.Key, Now: now, Opened: t.Stamp(tale.T("08:00")), Receipt: receipt, Heard: heard}), checks.Of(s), nil, nil)
}

// brief writes steps as "act subject, …".
func brief(steps []walk.Step) string {
	out := make([]string, len(steps))
	for i, x := range steps {
		out[i] = string(x.Act) + " " + x.Subject.Words()
	}
	return strings.Join(out, ", ")
}

func step(steps []walk.Step, of events.Subject) walk.Step {
	for _, x := range steps {
		if x.Subject == of {
			return x
		}
	}
	return walk.Step{}
}
