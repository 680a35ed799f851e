package settle

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
)

// matter is one hub under judgement.
type matter struct {
	site    *projection.Site
	hub     *projection.Hub
	clock   *clock
	brought *brought
	paired  []*projection.Device // to this hub, and on the schedule still
	settle  int64                // ms
	cuts    map[*events.Event]span
	reasons []Reason
}

func newMatter(s *projection.Site, h *projection.Hub, paired []*projection.Device, c *clock, b *brought) *matter {
	m := &matter{site: s, hub: h, clock: c, brought: b, settle: settleTime(s), cuts: map[*events.Event]span{}}
	for _, d := range paired {
		if d.Struck == nil {
			m.paired = append(m.paired, d)
		}
	}
	return m
}

// settleTime is D in ms.
func settleTime(s *projection.Site) int64 {
	return s.Settings.Span(events.SettleMinutes, time.Minute).Milliseconds()
}

func (m *matter) needsPush() bool {
	return slices.ContainsFunc(m.paired, func(d *projection.Device) bool { return d.Wants(projection.NeedPush) })
}

// because adds a reason about the hub and more.
func (m *matter) because(v Verdict, k ReasonKind, words string, about []events.Subject, refs ...events.Ref) {
	r := Reason{Kind: k, For: v, Words: words, Subjects: []events.Subject{events.Hub(m.hub.Hub)}, Events: refs}
	for _, s := range about {
		if !slices.Contains(r.Subjects, s) {
			r.Subjects = append(r.Subjects, s)
		}
	}
	m.reasons = append(m.reasons, r)
}

// tagsOf makes subjects of devices, and names up to five of them.
func tagsOf(list []*projection.Device) (about []events.Subject, words string) {
	const most = 5
	var names []string
	for i, d := range list {
		about = append(about, events.Device(d.Device))
		if i < most {
			names = append(names, string(d.Device))
		}
	}
	words = strings.Join(names, ", ")
	if n := len(list) - most; n > 0 {
		words += fmt.Sprintf(" and %d more", n)
	}
	return about, words
}

// spell writes a time to wait in minutes and seconds, rounded up.
func spell(ms int64) string {
	s := (ms + 999) / 1000
	if s < 60 {
		return fmt.Sprintf("%d s", s)
	}
	return fmt.Sprintf("%d min %02d s", s/60, s%60)
}
