package member

import (
	"slices"

	"pairwalk/events"
	"pairwalk/events/journal"
)

const refusedFile = "refused.json"

// maxRefused is how many sorts of refused attempts are told apart; what comes
// after is counted together.
const maxRefused = 100

// Refusal is attempts to come onto this member's bus that were refused for one
// reason, from one host.
type Refusal struct {
	Why   string         `json:"why"`
	From  string         `json:"from"`
	Key   events.Key     `json:"key,omitempty"` // the last bus key shown
	Count int            `json:"count"`
	First events.Instant `json:"first"`
	Last  events.Instant `json:"last"`
}

type refusals struct {
	V    int       `json:"v"`
	Rows []Refusal `json:"rows"`
}

func (r *refusals) read(at journal.FS) {
	if readJSON(at, refusedFile, r) != nil {
		*r = refusals{}
	}
	r.V = 1
}

// Refused counts an attempt in this device's own log of them, which never leaves
// it. From is the host it came from. The file is written anew at the first, the
// second, the fourth attempt of a sort and so on, so that a flood of them costs
// little; at worst the last half of a flood is forgotten.
func (m *Member) Refused(from, why string, bus events.Key) {
	m.mu.Lock()
	defer m.mu.Unlock()
	now := m.world.wall()
	i := slices.IndexFunc(m.refusals.Rows, func(r Refusal) bool { return r.Why == why && r.From == from })
	if i < 0 && len(m.refusals.Rows) >= maxRefused {
		why, from = "more of them", "elsewhere"
		i = slices.IndexFunc(m.refusals.Rows, func(r Refusal) bool { return r.Why == why && r.From == from })
	}
	if i < 0 {
		i = len(m.refusals.Rows)
		m.refusals.Rows = append(m.refusals.Rows, Refusal{Why: why, From: from, First: now})
	}
	r := &m.refusals.Rows[i]
	r.Count, r.Last, r.Key = r.Count+1, now, bus
	m.dealings++
	if r.Count&(r.Count-1) == 0 {
		if err := writeJSON(m.at, refusedFile, m.refusals); err != nil && m.world.Log != nil {
			m.world.Log.Warn("can't note a refused attempt", "error", err)
		}
	}
}

// Refusals lists the attempts that were refused, the latest first.
func (m *Member) Refusals() []Refusal {
	m.mu.Lock()
	defer m.mu.Unlock()
	rows := slices.Clone(m.refusals.Rows)
	slices.SortStableFunc(rows, func(a, b Refusal) int { return int(b.Last - a.Last) })
	return rows
}
