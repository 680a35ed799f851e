package bundle

import (
	"bytes"
	"crypto/ed25519"
	"errors"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/seal"
)

func TestWriteRefuses(t *testing.T) {
	a, b := pens(t)
	copied := a.copy()
	l := a.saysAll("1", "2", "3", "4")
	branch := copied.saysAll("1'", "2'")
	other := b.saysAll("eins")
	stranger := newPen(t, 3)
	stranger.site = events.SiteOf(keyOf(98).Public().(ed25519.PublicKey))
	foreign := stranger.says("from next door")
	broken := errors.New("disk is gone")

	tests := []struct {
		name  string
		by    *pen
		m     Manifest
		lines []seal.Verified
		holes map[events.FeedID][]events.Head
		err   error
	}{
		{"a key that is not the maker's", b, madeBy(a, l[3]), l, nil, seal.ErrWrongKey},
		{"a line of another site", a, madeBy(a, foreign), []seal.Verified{foreign}, nil, ErrLines},
		{"a head of another branch", a, madeBy(a, branch[1]), append(slices.Clone(l), branch...), nil, ErrHeads},
		{"a gap that is no hole", a, madeBy(a, l[3]), []seal.Verified{l[0], l[3]}, nil, ErrHeads},
		{"a gap that is partly holes", a, madeBy(a, l[3]), []seal.Verified{l[0], l[3]}, holesAt(a, 2), ErrHeads},
		{"a feed that begins late", a, madeBy(a, l[3]), l[1:], nil, ErrLines},
		{"a feed of holes alone", a, withHeads(madeBy(a, l[3]), func(h map[events.FeedID]events.Head) { h[b.feed] = other[0].Head() }), l, holesAt(b, 1), ErrHeads},
		{"a hole at the end", a, madeBy(a, l[3]), l[:3], holesAt(a, 4), ErrHeads},
		{"feeds out of order", a, madeBy(a, l[3], other[0]), append(slices.Clone(other), l...), nil, ErrLines},
		{"a line twice", a, madeBy(a, l[3]), slices.Concat(l, l), nil, ErrLines},
		{"heads that go further", a, madeBy(a, l[3]), l[:3], nil, ErrHeads},
		{"a head without a feed", a, madeBy(a, l[3], other[0]), l, nil, ErrHeads},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Write(&bytes.Buffer{}, tt.by.key, tt.m, each(tt.lines...), tt.holes)
			require.ErrorIs(t, err, tt.err)
		})
	}
	t.Run("lines that can't be had", func(t *testing.T) {
		_, err := Write(&bytes.Buffer{}, a.key, madeBy(a, l[0]), func(yield func(seal.Verified, error) bool) {
			_ = yield(l[0], nil) && yield(seal.Verified{}, broken)
		}, nil)
		require.ErrorIs(t, err, broken)
	})
	t.Run("a disk that is full", func(t *testing.T) {
		_, err := Write(failing{broken}, a.key, madeBy(a, l[3]), each(l...), nil)
		require.ErrorIs(t, err, broken)
	})
}

func TestWriteRefusesManifest(t *testing.T) {
	a, _ := pens(t)
	for name, change := range map[string]func(*Manifest){
		"no site":             func(m *Manifest) { m.Site = "" },
		"no name":             func(m *Manifest) { m.Name = "" },
		"a name of two lines": func(m *Manifest) { m.Name = "one\ntwo" },
		"no maker's name":     func(m *Manifest) { m.MakerName = "" },
		"a name not in UTF-8": func(m *Manifest) { m.MakerName = "\xff" },
		"half a feed":         func(m *Manifest) { m.Maker = events.FeedID(a.feed.Key()) },
		"a boot of two lines": func(m *Manifest) { m.Made.Mono.Boot = "a\nb" },
	} {
		t.Run(name, func(t *testing.T) {
			m := madeBy(a)
			change(&m)
			_, err := Write(&bytes.Buffer{}, a.key, m, each(), nil)
			require.Error(t, err)
		})
	}
}

func holesAt(p *pen, seqs ...events.Seq) map[events.FeedID][]events.Head {
	var list []events.Head
	for _, s := range seqs {
		list = append(list, events.Head{Seq: s})
	}
	return map[events.FeedID][]events.Head{p.feed: list}
}

// failing is a reader and a writer that does neither.
type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }
func (f failing) Read([]byte) (int, error)  { return 0, f.err }
