package settle

import (
	"fmt"
	"slices"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// block says everything that has to be done before a push.
func (j *judge) block(wanting []*projection.Device) {
	h := j.hub
	about := []events.Subject{events.Hub(h.Hub)}
	switch {
	case h.Struck != nil:
		j.say(Reason{HubStruck, fmt.Sprintf("%s is struck from the schedule; list it again, or unpair its devices", h.Hub), about, []events.Ref{h.Struck.Ref()}})
	case h.Lost != nil:
		j.say(Reason{HubNotReady, fmt.Sprintf("%s is lost: %s; when it answers, log ready %s", h.Hub, h.LostWhy, h.Hub), about, []events.Ref{h.Lost.Ref()}})
	case h.Ready == nil:
		j.say(Reason{HubNotReady, fmt.Sprintf("%s is not logged ready: powered, reachable, on its channel and loaded? Then log ready %s", h.Hub, h.Hub), about, nil})
	}
	j.program(wanting)
	j.channel()
	j.records()
	j.conflicts()
	j.holds()
}

// program asks that the hub holds one which lists what wants it.
func (j *judge) program(wanting []*projection.Device) {
	h := j.hub
	if h.Program == "" {
		j.say(Reason{NoProgram, fmt.Sprintf("%s holds no program; load one, then log loaded %s --program NAME", h.Hub, h.Hub), []events.Subject{events.Hub(h.Hub)}, nil})
		return
	}
	var out []*projection.Device
	for _, d := range wanting {
		if !h.Holding(d.Device) {
			out = append(out, d)
		}
	}
	if len(out) > 0 {
		j.say(Reason{NotInProgram, fmt.Sprintf("program %s on %s does not list %s; load one that does, then log loaded %s --program NAME", h.Program, h.Hub, tagWords(out), h.Hub), subjectsOf(out), []events.Ref{h.Loaded.Ref()}})
	}
}

// channel asks that a hub whose channel was changed after pairing is logged
// ready on the new one; the push then carries it to the devices.
func (j *judge) channel() {
	for _, radio := range events.Radios {
		ch, ok := j.hub.Channels[radio]
		if !ok || ch.Changed == nil || j.hub.Ready != nil && j.hub.Ready.After(*ch.Changed) {
			continue
		}
		j.say(Reason{ChannelChanged, fmt.Sprintf("%s went to %s channel %d after devices were paired; see that it runs there, then log ready %s, and push to all its devices", j.hub.Hub, radio, ch.Number, j.hub.Hub), []events.Subject{events.Hub(j.hub.Hub)}, []events.Ref{ch.Changed.Ref()}})
	}
}

// records asks that every pairing has come home before the push.
func (j *judge) records() {
	var away []*projection.Device
	var refs []events.Ref
	for i := range j.site.Devices {
		d := &j.site.Devices[i]
		if d.Paired != nil && d.Paired.Hub == j.hub.Hub && !j.home(d.Paired) {
			away = append(away, d)
			refs = append(refs, d.Paired.Ref())
		}
	}
	if len(away) > 0 {
		j.say(Reason{NotMerged, fmt.Sprintf("the pairing of %s is not in the design file: write the records with merge out, have the office merge them, then log merged %s", tagWords(away), j.hub.Hub), subjectsOf(away), refs})
	}
}

func (j *judge) home(p *projection.Pairing) bool {
	return slices.ContainsFunc(j.site.Exports, func(x projection.Export) bool {
		return x.Covers(p.Ref()) && len(x.MergedFor(j.hub.Hub)) > 0
	})
}

// conflicts asks that who, what and which are settled on this hub.
func (j *judge) conflicts() {
	for _, c := range j.site.Conflicts {
		if c.Kind.Identity() && slices.ContainsFunc(c.Subjects, j.ours) {
			j.say(Reason{InConflict, c.Why + "; settle it: resolve " + c.Key, c.Subjects, c.Events})
		}
	}
}

// ours says whether a subject is the hub or a device on it.
func (j *judge) ours(s events.Subject) bool {
	if id, ok := s.Hub(); ok {
		return id == j.hub.Hub
	}
	if tag, ok := s.Tag(); ok {
		d, known := j.site.Device(tag)
		return known && d.Paired != nil && d.Paired.Hub == j.hub.Hub
	}
	return false
}

// holds asks that nobody is in the way: a push may switch lights.
func (j *judge) holds() {
	for _, x := range j.site.Holds {
		if !j.holding(x) {
			continue
		}
		who := ""
		if x.Who != "" {
			who = " (" + x.Who + ")"
		}
		j.say(Reason{OnHold, fmt.Sprintf("hold on %s: %s%s; when it is over, lift %s", x.Of.Words(), x.Why, who, x.Of.ID), []events.Subject{x.Of}, []events.Ref{x.Placed.Ref()}})
	}
}

func (j *judge) holding(x projection.Hold) bool {
	if x.Of == events.Site() || x.Of == events.Hub(j.hub.Hub) || x.Of.Class == events.OfCircuit && x.Of.ID == string(j.hub.Circuit) {
		return true
	}
	for i := range j.site.Devices {
		d := &j.site.Devices[i]
		if d.Paired != nil && d.Paired.Hub == j.hub.Hub && x.Touches(d) {
			return true
		}
	}
	return false
}

// tagWords names up to five devices.
func tagWords(devices []*projection.Device) string {
	const most = 5
	var names []string
	for _, d := range devices[:min(most, len(devices))] {
		names = append(names, string(d.Device))
	}
	if n := len(devices) - most; n > 0 {
		return fmt.Sprintf("%s and %d more", strings.Join(names, ", "), n)
	}
	return strings.Join(names, ", ")
}

func subjectsOf(devices []*projection.Device) []events.Subject {
	out := make([]events.Subject, len(devices))
	for i, d := range devices {
		out[i] = events.Device(d.Device)
	}
	return out
}
