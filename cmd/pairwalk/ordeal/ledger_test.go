package ordeal

import (
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// entry is one entry as the command and the page tell it.
type entry struct {
	Ref  string // feed/number/hash
	ID   string
	Kind string
	Body json.RawMessage
}

// number is the part of a ref that must never stand for two entries.
func (e entry) number() string { return e.Ref[:strings.LastIndexByte(e.Ref, '/')] }

// said is the document of whatever tells entries.
type said struct{ Entries []entry }

// ledger is what was acknowledged, kept outside of those who may be killed.
type ledger struct {
	mu      sync.Mutex
	acked   map[string]entry  // by id
	numbers map[string]string // ref by number: of all that were acknowledged or seen
	clashes []string          // numbers that stood for two entries
}

func newLedger() *ledger {
	return &ledger{acked: map[string]entry{}, numbers: map[string]string{}}
}

// takes notes what was acknowledged. It may be called from many goroutines.
func (l *ledger) takes(entries ...entry) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, e := range entries {
		l.acked[e.ID] = e
	}
	l.saw(entries)
}

// sees notes numbers that somebody else holds.
func (l *ledger) sees(entries []entry) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.saw(entries)
}

// saw holds numbers against what they stood for before.
func (l *ledger) saw(entries []entry) {
	for _, e := range entries {
		if was, ok := l.numbers[e.number()]; ok && was != e.Ref {
			l.clashes = append(l.clashes, fmt.Sprintf("%s was %s", e.Ref, was))
		}
		l.numbers[e.number()] = e.Ref
	}
}

func (l *ledger) len() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return len(l.acked)
}

// audit holds the whole log against the ledger, and returns how many are lost.
func (l *ledger) audit(t *testing.T, log []entry) {
	t.Helper()
	l.mu.Lock()
	defer l.mu.Unlock()
	l.saw(log)
	require.Empty(t, l.clashes, "a number was given twice")
	held := map[string]entry{}
	for _, e := range log {
		held[e.ID] = e
	}
	var lost []string
	for id, e := range l.acked {
		got, ok := held[id]
		if !ok {
			lost = append(lost, e.Ref)
			continue
		}
		require.Equal(t, e.Ref, got.Ref, "an entry has its own number for good")
		require.JSONEq(t, string(e.Body), string(got.Body), e.Ref)
	}
	require.Empty(t, lost, "%d of %d acknowledged entries are lost", len(lost), len(l.acked))
}
