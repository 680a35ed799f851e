// Package chance tells stories at random, for tests of what holds of any history:
// several people who meet now and then, with clocks that are wrong, stepped and
// restarted, who type times, take back what they said, resolve conflicts, get
// admitted and revoked, and copy laptops. A property test that fails prints the
// seed of its story, as rapid does.
package chance

import (
	"crypto/ed25519"
	"time"

	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/tale"
)

// chance is a story on its way.
type chance struct {
	*rapid.T
	story *tale.Story
	cast  []*tale.Teller
	now   events.Instant
}

// Story tells a story at random.
func Story(t *rapid.T) *tale.Story { return told(t, 5, 36).story }

// Ending tells a longer story that ends with what somebody says who has heard all there
// is to hear. It is the last of the story's events; others gives that entry with other
// things said in it.
func Ending(t *rapid.T) (s *tale.Story, others []events.Event) {
	c := told(t, 20, 90)
	who := rapid.SampledFrom(c.cast).Draw(t, "last teller")
	for _, other := range c.cast {
		if other != who {
			who.Hear(other)
		}
	}
	last := who.SayAt(c.now+events.Instant(rapid.IntRange(0, 3_600_000).Draw(t, "last pause")), c.payload())
	for range rapid.IntRange(4, 12).Draw(t, "others") {
		e := *last
		e.Payload = c.payload()
		signed, err := e.Encode()
		if err != nil {
			t.Fatal(err)
		}
		e.Hash = events.HashOf(signed)
		others = append(others, e)
	}
	return c.story, others
}

func told(t *rapid.T, least, most int) *chance {
	c := &chance{T: t, story: tale.New(), now: tale.T("08:00")}
	c.cast = []*tale.Teller{c.story.Lead, c.story.Join("bo", events.Tech)}
	pending, _ := c.story.JoinPending("cy", events.Tech)
	c.cast = append(c.cast, pending)
	if rapid.Bool().Draw(t, "second lead") {
		dee, _ := c.story.JoinPending("dee", events.Lead)
		c.cast = append(c.cast, dee)
	}
	if rapid.Bool().Draw(t, "shared invite") {
		secret := ed25519.NewKeyFromSeed(make([]byte, 32))
		c.cast = append(c.cast, c.story.JoinBy(secret, "eve", events.Tech), c.story.JoinBy(secret, "fin", events.Viewer))
	}
	if rapid.Bool().Draw(t, "stranger") {
		c.cast = append(c.cast, c.story.Stranger("gus"))
	}
	for range rapid.IntRange(least, most).Draw(t, "steps") {
		c.now += events.Instant(rapid.IntRange(0, 15*60_000).Draw(t, "pause"))
		c.step(rapid.SampledFrom(c.cast).Draw(t, "teller"))
	}
	return c
}

func (c *chance) step(who *tale.Teller) {
	other := rapid.SampledFrom(c.cast).Draw(c.T, "other")
	switch rapid.IntRange(0, 19).Draw(c.T, "step") {
	case 0, 1, 2:
		if other != who {
			who.Hear(other)
		}
	case 3:
		who.Skew = time.Duration(rapid.SampledFrom([]int{0, 20, -700, 180_000, -240_000, 31_536_000_000}).Draw(c.T, "skew")) * time.Millisecond
	case 4:
		who.Boot, who.Up = who.Boot+"'", c.now
	case 5:
		if other != who {
			who.SayAt(c.now, Compared(who, other, c.now, rapid.Int64Range(0, 4000).Draw(c.T, "trip")))
		}
	case 6:
		c.void(who)
	case 7:
		c.resolve(who)
	case 8:
		c.decide(who, other)
	case 9:
		c.unusual(who)
	default:
		c.field(who)
	}
}

// Compared is what a comparison of two clocks gives: the answer is stamped
// somewhere within the round trip.
func Compared(who, other *tale.Teller, at events.Instant, trip int64) events.ClockCompared {
	mine, theirs := who.Stamp(at), other.Stamp(at+events.Instant(trip/5))
	return events.ClockCompared{
		Other:     other.Key,
		Mine:      events.Reading{Wall: mine.Wall.At, Mono: mine.Mono},
		Theirs:    events.Reading{Wall: theirs.Wall.At, Mono: theirs.Mono},
		Offset:    int64(theirs.Wall.At - mine.Wall.At - events.Instant(trip/2)),
		RoundTrip: trip,
	}
}

// said is some event of the story, or one that nobody will ever hear of.
func (c *chance) said() events.Ref {
	told := c.story.Events()
	i := rapid.IntRange(0, len(told)).Draw(c.T, "entry")
	if i == len(told) {
		return events.Ref{Feed: c.story.Lead.Feed, Seq: 999}
	}
	return told[i].Ref()
}

func (c *chance) void(who *tale.Teller) {
	why := rapid.SampledFrom(events.VoidWhys).Draw(c.T, "why")
	who.SayAt(c.now, events.EventVoided{Event: c.said(), Why: why})
}

func (c *chance) resolve(who *tale.Teller) {
	open := c.story.Now().Conflicts
	p := events.ConflictResolved{Key: "paired-twice:1-1:00000000", Why: "asked"}
	if len(open) > 0 {
		x := rapid.SampledFrom(open).Draw(c.T, "conflict")
		p.Key = x.Key
		if len(x.Offers) > 0 {
			p.Stands = rapid.SampledFrom(x.Offers).Draw(c.T, "offer").Stands
		}
	}
	who.SayAt(c.now, p)
}

// decide has somebody speak of another's standing, rightly or not.
func (c *chance) decide(who, other *tale.Teller) {
	switch rapid.IntRange(0, 3).Draw(c.T, "decision") {
	case 0, 1:
		if m, ok := c.story.Now().Member(other.Key); ok && m.Invite != "" {
			who.SayAt(c.now, events.MemberAdmitted{Key: other.Key, Invite: m.Invite})
		}
	case 2:
		if other.Head().Seq > 0 {
			who.SayAt(c.now, events.MemberRevoked{Key: other.Key, Heads: tale.Cut(other), Why: "lost phone"})
		}
	case 3:
		if other.Head().Seq > 0 {
			who.SayAt(c.now, c.story.RevokedByRoot(events.MemberRevoked{Key: other.Key, Heads: tale.Cut(other), Why: "left"}))
		}
	}
}

// unusual is what seldom happens on a site.
func (c *chance) unusual(who *tale.Teller) {
	switch rapid.IntRange(0, 4).Draw(c.T, "unusual") {
	case 0:
		who.SayAt(c.now, events.SettingsChanged{Set: map[events.SettingKey]string{
			events.ClockReference: string(rapid.SampledFrom(c.cast).Draw(c.T, "reference").Key),
		}})
	case 1:
		who.SayAt(c.now, events.SettingsChanged{Set: map[events.SettingKey]string{events.SettleMinutes: "20", "from_later": "x"}})
	case 2:
		if len(c.cast) < 8 && who.Head().Seq > 0 {
			c.cast = append(c.cast, who.Branch())
		}
	case 3:
		who.Mumble(c.now.Time().Format(time.RFC3339Nano))
	case 4:
		if who.Head().Seq > 0 {
			who.NewFeed(c.now.Time().Format(time.RFC3339Nano), events.Restored)
		}
	}
}

// field says one thing about the work.
func (c *chance) field(who *tale.Teller) {
	var details []tale.Detail
	if rapid.IntRange(0, 3).Draw(c.T, "typed") == 0 {
		from := c.now - events.Instant(rapid.IntRange(-30*60_000, 120*60_000).Draw(c.T, "ago"))
		details = append(details, func(e *events.Event) {
			e.Told = events.NewTold(events.Some(events.Interval{From: from, To: from + 600_000}), e.By())
		})
	}
	who.SayAt(c.now, c.payload(), details...)
}

func (c *chance) payload() events.Payload {
	tags := rapid.SampledFrom([]events.Tag{"1-1", "1-2", "1-3", "1-4"})
	tag, tag2 := tags.Draw(c.T, "tag"), tags.Draw(c.T, "tag 2")
	h := rapid.SampledFrom([]events.HubID{"H1", "H1", "H2"}).Draw(c.T, "hub")
	serial := rapid.SampledFrom([]events.Serial{"S1", "S2", "S3"}).Draw(c.T, "serial")
	of := rapid.SampledFrom([]events.Subject{events.Circuit("C1"), events.Circuit("C2"), events.Device(tag)}).Draw(c.T, "of")
	listed := rapid.SampledFrom([]events.DeviceListed{lamp(tag, h), star(tag, h)}).Draw(c.T, "row")
	listed.Circuit = rapid.SampledFrom([]events.CircuitID{"", "C1", "C2"}).Draw(c.T, "circuit")
	said := []events.Payload{
		events.HubListed{Hub: h, Circuit: "C1"}, listed, listed, lamp(tag, h),
		events.DeviceStruck{Device: tag}, events.HubStruck{Hub: h},
		events.HubReady{Hub: h}, events.HubLost{Hub: h, Why: "no answer"},
		events.HubChannel{Hub: h, Radio: events.Mesh, Channel: rapid.SampledFrom([]int{11, 15}).Draw(c.T, "channel")},
		events.HubLoaded{Hub: h, Program: "r1", All: true}, events.HubLoaded{Hub: h, Program: "r2", Lists: []events.Tag{tag, "1-1"}},
		paired(tag, h), paired(tag, h), paired(tag, h), events.DevicePaired{Device: tag, Hub: h, Serial: serial},
		events.DeviceFitted{Device: tag, Serial: serial}, events.DeviceFitted{Device: tag, Serial: serial},
		events.DeviceReplaced{Device: tag, Old: "S9", New: serial, Why: "broken"},
		events.DeviceUnpaired{Device: tag, Why: "reset"}, events.DeviceRefused{Device: tag, Why: events.NoAnswer},
		events.DeviceSkipped{Device: tag, Why: events.NoAccess}, events.DeviceHeard{Device: tag, Hub: h},
		events.PowerOff{Of: of, Dark: []events.Tag{tag2}}, events.PowerOn{Of: of},
		events.HoldPlaced{Of: events.Device(tag), Why: "wet"}, events.HoldLifted{Of: events.Device(tag)},
		events.RecordsExported{Export: string(serial), Heads: tale.Cut(c.cast[:2]...)}, events.RecordsMerged{Export: string(serial), Hub: h},
		events.PushDone{Hub: h, Program: "r1"}, events.PushDone{Hub: h, Program: "r1"}, events.PushDone{Hub: h, Program: "r2", Missed: []events.Tag{tag}},
		events.FaultFound{Of: events.Device(tag), Symptom: "dark", Severity: events.Minor},
		events.FaultCleared{Fault: c.said()}, events.FaultReopened{Fault: c.said(), Why: "again"},
		events.CheckDone{Of: events.Device(tag), Test: events.TestAnswer, Pass: true},
		events.HubAssigned{Hub: h, Member: c.cast[1].Key}, events.MemberAsked{Hub: h, Member: c.cast[1].Key, Through: c.now},
	}
	if tag != tag2 {
		said = append(said, events.DeviceRenamed{From: tag, To: tag2}, events.DeviceRenamed{From: tag, To: "1-9"})
	}
	return rapid.SampledFrom(said).Draw(c.T, "payload")
}

// Moment is a moment of a story, as known here or to one of its members.
func Moment(t *rapid.T, site *projection.Site) projection.Moment {
	var m projection.Moment
	day := rapid.Map(rapid.Int64Range(int64(tale.T("07:50")), int64(tale.T("23:00"))), func(ms int64) events.Maybe[events.Instant] {
		return events.Some(events.Instant(ms))
	})
	if rapid.Bool().Draw(t, "past") {
		m.When = day.Draw(t, "when")
	}
	if rapid.IntRange(0, 2).Draw(t, "known") == 0 && len(site.Members) > 0 {
		m.Known.Member = rapid.SampledFrom(site.Members).Draw(t, "member").Key
		if rapid.Bool().Draw(t, "known then") {
			m.Known.At = day.Draw(t, "known at")
		}
	}
	return m
}

// lamp is a mesh router on a hub.
func lamp(tag events.Tag, hub events.HubID) events.DeviceListed {
	return events.DeviceListed{Device: tag, Is: events.Driver, Hub: hub, Radio: events.Mesh, Power: events.Mains}
}

// star is a device on star radio.
func star(tag events.Tag, hub events.HubID) events.DeviceListed {
	return events.DeviceListed{Device: tag, Is: events.WallControl, Hub: hub, Radio: events.Star, Power: events.Battery}
}

func paired(tag events.Tag, hub events.HubID) events.DevicePaired {
	return events.DevicePaired{Device: tag, Hub: hub}
}
