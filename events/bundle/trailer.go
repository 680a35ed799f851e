package bundle

import (
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"fmt"

	"pairwalk/events"
)

// domain begins what a maker signs, as nothing else that keys sign does.
const domain = "pairwalk bundle v1\n"

type trailerJSON struct {
	Lines  int              `json:"lines"`
	SHA256 string           `json:"sha256"`
	Sig    events.Signature `json:"sig"`
}

// holeJSON is a line that the maker lacks.
type holeJSON struct {
	Hole events.Seq    `json:"hole"`
	Feed events.FeedID `json:"feed"`
	Hash string        `json:"hash"`
}

func (t trailerJSON) statement(site events.SiteID) []byte {
	return fmt.Appendf(nil, "%s%s\n%d\n%s\n", domain, site, t.Lines, t.SHA256)
}

func trailerLine(key ed25519.PrivateKey, site events.SiteID, lines int, sum []byte) ([]byte, error) {
	t := trailerJSON{Lines: lines, SHA256: hex.EncodeToString(sum)}
	t.Sig = events.Sign(key, t.statement(site))
	return jsonLine(t)
}

func readTrailer(line []byte) (trailerJSON, error) {
	var t trailerJSON
	return t, readCanonical(line, &t)
}

func holeLine(feed events.FeedID, head events.Head) ([]byte, error) {
	return jsonLine(holeJSON{Hole: head.Seq, Feed: feed, Hash: head.Hash.String()})
}

func readHole(line []byte) (events.FeedID, events.Head, error) {
	var h holeJSON
	if err := readCanonical(line, &h); err != nil {
		return "", events.Head{}, err
	}
	if _, err := events.ParseFeedID(string(h.Feed)); err != nil {
		return "", events.Head{}, err
	}
	hash, err := events.ParseHash(h.Hash)
	return h.Feed, events.Head{Seq: h.Hole, Hash: hash}, err
}

// readCanonical reads a line that is written as jsonLine would.
func readCanonical[T any](line []byte, v *T) error {
	if err := readJSON(line, v); err != nil {
		return err
	}
	again, err := jsonLine(*v)
	if err == nil && !bytes.Equal(again, line) {
		err = errNotCanonical
	}
	return err
}
