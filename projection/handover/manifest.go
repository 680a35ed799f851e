package handover

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"pairwalk/events"
)

// packVersion is the v of pack.json.
const packVersion = 1

// Manifest is what a pack is of, as pack.json tells programs. It is JSON in the one
// form in which it is written: indented by one space, keys in this order.
type Manifest struct {
	Pairwalk string                   `json:"pairwalk"` // pack
	V        int                      `json:"v"`
	Site     PackSite                 `json:"site"`
	Practice bool                     `json:"practice"`
	Moment   string                   `json:"moment"` // site time, UTC: later field entries are left out of the pages
	Known    []PackMember             `json:"known"`  // how far the log in the pack reaches
	Entries  int                      `json:"entries"`
	Heads    map[events.FeedID]packed `json:"heads"`   // the newest line of each feed in the log
	Version  string                   `json:"version"` // of the rendering
	Tools    string                   `json:"tools"`   // what compressed the pages
	Files    []string                 `json:"files"`   // every one, in the order of reading
}

// PackSite names the site of a pack.
type PackSite struct {
	ID   events.SiteID `json:"id"`
	Name string        `json:"name"`
	Zone string        `json:"zone"`
}

// PackMember says how far a member's own entries are known in a pack.
type PackMember struct {
	Member  string     `json:"member"`
	Key     events.Key `json:"key"`
	Entries int        `json:"entries"`
	Last    string     `json:"last"` // when the last one was made, in site time, UTC
}

// packed is a head as [seq,"hash"].
type packed events.Head

// MarshalJSON writes a head as [seq,"hash"].
func (h packed) MarshalJSON() ([]byte, error) {
	return fmt.Appendf(nil, `[%d,%q]`, h.Seq, h.Hash), nil
}

// UnmarshalJSON reads it.
func (h *packed) UnmarshalJSON(b []byte) error {
	var pair []json.RawMessage
	if err := json.Unmarshal(b, &pair); err != nil {
		return err
	}
	if len(pair) != 2 {
		return errors.New("a head is not [seq, hash]")
	}
	var hash string
	if err := errors.Join(json.Unmarshal(pair[0], &h.Seq), json.Unmarshal(pair[1], &hash)); err != nil {
		return err
	}
	var err error
	h.Hash, err = events.ParseHash(hash)
	return err
}

// manifestOf says what a source is of; the files are still to be named.
func manifestOf(s Source, tools string) Manifest {
	m := Manifest{
		Pairwalk: "pack", V: packVersion,
		Site:     PackSite{s.Site.ID, s.Site.Name, s.Site.Zone},
		Practice: s.Site.Practice,
		Moment:   s.Site.Moment.When.Value.String(),
		Known:    knownOf(s),
		Entries:  s.Site.Entries,
		Heads:    map[events.FeedID]packed{},
		Version:  s.Version,
		Tools:    tools,
	}
	for feed, head := range s.Site.Heads {
		m.Heads[feed] = packed(head)
	}
	return m
}

func (m Manifest) bytes() []byte {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	_ = enc.Encode(m) // a struct of plain values can't fail, nor can a buffer
	return b.Bytes()
}

// readManifest reads what bytes writes, in that form alone.
func readManifest(b []byte) (Manifest, error) {
	var m Manifest
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&m); err != nil {
		return m, fmt.Errorf("is no pack.json: %w", err)
	}
	switch {
	case m.Pairwalk != "pack":
		return m, errors.New("is not of a pack of pairwalk")
	case m.V != packVersion:
		return m, fmt.Errorf("is of version %d, and this pairwalk reads %d: install the version it was made with", m.V, packVersion)
	case !bytes.Equal(m.bytes(), b):
		return m, errors.New("is not as pairwalk writes it: it was touched")
	}
	return m, nil
}
