package walk

import (
	"fmt"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/mesh"
)

// Person is somebody who walks: a member, or a pair of hands with no key.
type Person struct {
	Key  events.Key
	Name string
}

// Outline is everybody's whole job.
type Outline struct {
	People []Part
	Hubs   []HubMoments // those with anything left to do
	From   events.Instant
	Finish events.Instant
	Notes  []string
}

// Part is one person's share of it, in the order of time.
type Part struct {
	Person Person
	Stops  []Stop
	Metres int64 // on foot, where places are known
	Ends   events.Instant
}

// Stop is one thing to do, and when.
type Stop struct {
	Act       Act
	Subject   events.Subject
	Hub       events.HubID
	At, Until events.Instant // walking there comes before At
	Via       events.Tag     // what a device joins through: a tag, or its hub's id; "" where nothing tells
	Why       string
	Cautions  []string
}

// HubMoments is when a hub comes to each stage; 0 for one that is behind it
// already, or that it has no need of.
type HubMoments struct {
	Hub     events.HubID
	Ready   events.Instant // may be paired to
	Paired  events.Instant // the last device is
	Settled events.Instant // the last mesh device has had its settle time
	Pushed  events.Instant
	Proved  events.Instant // every device was seen to answer
}

// Plan lays out the whole job from the state of a site, for one person or several,
// beginning at from. Without a ground, or where it knows no place, it goes by Order
// and says nothing of paths.
func Plan(s *projection.Site, g *mesh.Ground, people []Person, from events.Instant) Outline {
	if len(people) == 0 {
		people = []Person{{}}
	}
	y := survey(s, g)
	var best Outline
	for n := 1; n <= len(people); n++ { // one more pair of hands must never cost time
		o := newTour(y, people[:n], from).play()
		if n == 1 || o.Finish < best.Finish {
			best = o
		}
	}
	for i := len(best.People); i < len(people); i++ {
		best.People = append(best.People, Part{Person: people[i], Ends: from})
		best.Notes = append(best.Notes, fmt.Sprintf("%s is not needed: the job is over no sooner with one more", people[i].Name))
	}
	best.Notes = append(y.notes(), best.Notes...)
	return best
}

// notes says what is left out, and what is not known.
func (y *yard) notes() []string {
	var out []string
	say := func(tags []events.Tag, words string) {
		if len(tags) > 0 {
			out = append(out, fmt.Sprintf("%s: %s", names(tags), words))
		}
	}
	say(y.emergency, "not in the plan. "+CautionEmergency)
	say(y.held, "on hold, so not in the plan")
	say(y.dark, "without power, says the log, so not in the plan")
	say(y.never, "never pair, so not in the plan")
	say(y.islands, "no order gives them a sure path home while they are paired; they come last on their hub, and may be islands")
	if y.blind > 0 {
		out = append(out, fmt.Sprintf("of %d of %d devices to pair nobody knows whether they will have a path, for want of places or measured links: they go by floor, room and tag", y.blind, y.count))
	}
	if n := owedTests(y.site); n > 0 {
		out = append(out, fmt.Sprintf("functional tests to be passed besides, whose time is not counted: %d", n))
	}
	return out
}

// names lists a few tags, and counts the rest.
func names(tags []events.Tag) string {
	const most = 8
	var words []string
	for _, t := range tags[:min(most, len(tags))] {
		words = append(words, string(t))
	}
	if n := len(tags) - most; n > 0 {
		words = append(words, fmt.Sprintf("and %d more", n))
	}
	return strings.Join(words, ", ")
}
