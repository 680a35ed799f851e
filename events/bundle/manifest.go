package bundle

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"pairwalk/events"
)

const version = 1

// Manifest says what a bundle holds and who made it when.
type Manifest struct {
	Site      events.SiteID
	Name      string // of the site
	Practice  bool
	Maker     events.FeedID
	MakerName string
	Made      events.Stamp // the maker's clocks; zero for an excerpt
	Pages     string       // of a handover pack that it is sealed for, "" for none; 64 hex digits
	Heads     map[events.FeedID]events.Head
}

// For is nil if the bundle is of that site, and else wraps [ErrWrongSite].
func (m Manifest) For(site events.SiteID) error {
	if m.Site != site {
		return fmt.Errorf("%w: it holds %q", ErrWrongSite, m.Name)
	}
	return nil
}

// Excerpt says whether the bundle may hold less than its maker had.
func (m Manifest) Excerpt() bool { return m.Made == events.Stamp{} }

func (m Manifest) check() error {
	if _, err := events.Key(m.Site).Public(); err != nil {
		return fmt.Errorf("site: %w", err)
	}
	if err := events.CheckName(m.Name); err != nil {
		return fmt.Errorf("name %w", err)
	}
	if err := events.CheckName(m.MakerName); err != nil {
		return fmt.Errorf("maker_name %w", err)
	}
	if _, err := events.ParseFeedID(string(m.Maker)); err != nil {
		return fmt.Errorf("maker: %w", err)
	}
	if m.Made.Mono.Known() {
		if err := events.CheckName(m.Made.Mono.Boot); err != nil {
			return fmt.Errorf("made: boot %w", err)
		}
	}
	if _, err := events.ParseHash(m.Pages); err != nil {
		return fmt.Errorf("pages: %w", err)
	}
	return nil
}

// manifestJSON is the first line. The order of its fields is the file's.
type manifestJSON struct {
	Pairwalk  string                       `json:"pairwalk"`
	V         int                          `json:"v"`
	Site      events.SiteID                `json:"site"`
	Name      string                       `json:"name"`
	Practice  bool                         `json:"practice,omitempty"`
	Maker     events.FeedID                `json:"maker"`
	MakerName string                       `json:"maker_name"`
	Made      stampJSON                    `json:"made"`
	Pages     string                       `json:"pages,omitempty"`
	Heads     map[events.FeedID]headOnWire `json:"heads"`
}

type stampJSON struct {
	Wall [2]int64    `json:"wall"`
	Mono *monoOnWire `json:"mono,omitempty"`
}

func (m Manifest) line() ([]byte, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	j := manifestJSON{
		Pairwalk: "bundle", V: version, Site: m.Site, Name: m.Name, Practice: m.Practice,
		Maker: m.Maker, MakerName: m.MakerName,
		Made:  stampJSON{Wall: [2]int64{int64(m.Made.Wall.At), int64(m.Made.Wall.Offset)}},
		Pages: m.Pages,
		Heads: map[events.FeedID]headOnWire{},
	}
	if m.Made.Mono.Known() {
		j.Made.Mono = (*monoOnWire)(&m.Made.Mono)
	}
	for feed, head := range m.Heads {
		j.Heads[feed] = headOnWire(head)
	}
	return jsonLine(j)
}

// readManifest reads what line writes. It is ErrVersion where only the version
// differs.
func readManifest(line []byte) (Manifest, error) {
	var j manifestJSON
	if err := readJSON(line, &j); err != nil {
		return Manifest{}, err
	}
	m := Manifest{
		Site: j.Site, Name: j.Name, Practice: j.Practice, Maker: j.Maker, MakerName: j.MakerName, Pages: j.Pages,
		Heads: make(map[events.FeedID]events.Head, len(j.Heads)),
	}
	m.Made.Wall = events.Wall{At: events.Instant(j.Made.Wall[0]), Offset: int16(j.Made.Wall[1])}
	if j.Made.Mono != nil {
		m.Made.Mono = events.Mono(*j.Made.Mono)
	}
	for feed, head := range j.Heads {
		m.Heads[feed] = events.Head(head)
	}
	again, err := m.line()
	if err != nil {
		return Manifest{}, err
	}
	if !bytes.Equal(again, line) {
		return Manifest{}, errNotCanonical
	}
	return m, nil
}

// headOnWire is [seq,"hash"].
type headOnWire events.Head

// MarshalJSON writes the pair.
func (h headOnWire) MarshalJSON() ([]byte, error) {
	return fmt.Appendf(nil, `[%d,%q]`, h.Seq, h.Hash), nil
}

// UnmarshalJSON reads it.
func (h *headOnWire) UnmarshalJSON(b []byte) error {
	var hash string
	if err := readPair(b, &h.Seq, &hash); err != nil {
		return err
	}
	var err error
	h.Hash, err = events.ParseHash(hash)
	return err
}

// monoOnWire is ["boot",ms].
type monoOnWire events.Mono

// MarshalJSON writes the pair.
func (m monoOnWire) MarshalJSON() ([]byte, error) {
	return jsonLine([]any{m.Boot, m.Ms})
}

// UnmarshalJSON reads it.
func (m *monoOnWire) UnmarshalJSON(b []byte) error { return readPair(b, &m.Boot, &m.Ms) }

var errNotCanonical = errors.New("not in canonical form")

func readPair(b []byte, first, second any) error {
	var pair []json.RawMessage
	if err := json.Unmarshal(b, &pair); err != nil {
		return err
	}
	if len(pair) != 2 {
		return errNotCanonical
	}
	return errors.Join(json.Unmarshal(pair[0], first), json.Unmarshal(pair[1], second))
}

// jsonLine writes v in one line, without its line feed.
func jsonLine(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

func readJSON(line []byte, v any) error {
	dec := json.NewDecoder(bytes.NewReader(line))
	dec.DisallowUnknownFields()
	return dec.Decode(v)
}
