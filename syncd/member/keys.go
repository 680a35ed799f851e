package member

import (
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"

	"pairwalk/events"
	"pairwalk/events/journal"
)

const keysFile = "keys.json"

// Versions of the keys' file.
const (
	keysClear  = 1 // the secrets stand in it
	keysLocked = 2 // the secrets stand in it under a passphrase
)

// keyring is what makes an installation this member: two secrets, and what was
// known when it joined. A locked one says who it is and can't sign.
type keyring struct {
	V        int           `json:"v"`
	Site     events.SiteID `json:"site"`
	SiteName string        `json:"site_name"`
	Practice bool          `json:"practice"`
	Zone     string        `json:"zone"`
	Root     events.Key    `json:"root"`
	Name     string        `json:"name"`
	FeedSeed string        `json:"feed_seed,omitempty"` // hex of 32 bytes
	BusSeed  string        `json:"bus_seed,omitempty"`  // hex of 32 bytes

	// In a locked one, instead of the two:
	FeedKey events.Key `json:"feed_key,omitempty"` // the public half
	BusKey  events.Key `json:"bus_key,omitempty"`
	Locked  []byte     `json:"locked,omitempty"` // the clear keyring, as an age file under a passphrase

	guarded bool // it is clear here, and locked on disk
}

// newKeys draws a feed key and a separate bus key: the bus signs whatever nonce
// a server sends, so its key must never sign events.
func newKeys(random io.Reader, site events.SiteID, root events.Key, o Opening) (keyring, error) {
	var seeds [2 * ed25519.SeedSize]byte
	if _, err := io.ReadFull(random, seeds[:]); err != nil {
		return keyring{}, fmt.Errorf("draw keys: %w", err)
	}
	return keyring{
		V: keysClear, Site: site, SiteName: o.Name, Practice: o.Practice, Zone: o.Zone, Root: root, Name: o.Person,
		FeedSeed: hex.EncodeToString(seeds[:ed25519.SeedSize]),
		BusSeed:  hex.EncodeToString(seeds[ed25519.SeedSize:]),
	}, nil
}

func (k keyring) feedKey() ed25519.PrivateKey { return keyFrom(k.FeedSeed) }
func (k keyring) busKey() ed25519.PrivateKey  { return keyFrom(k.BusSeed) }
func (k keyring) locked() bool                { return len(k.Locked) > 0 }

func (k keyring) key() events.Key {
	if k.locked() {
		return k.FeedKey
	}
	return publicOf(k.FeedSeed)
}

func (k keyring) bus() events.Key {
	if k.locked() {
		return k.BusKey
	}
	return publicOf(k.BusSeed)
}

func (k keyring) info() SiteInfo {
	return SiteInfo{k.Site, k.SiteName, k.Practice, k.Name, k.key(), k.locked() || k.guarded}
}

// whole says whether a keyring that was read has all that it should.
func (k keyring) whole() bool {
	_, feed := k.key().Public()
	_, bus := k.bus().Public()
	return feed == nil && bus == nil && k.locked() == (k.V == keysLocked) && !(k.locked() && k.FeedSeed+k.BusSeed != "")
}

func keyFrom(seed string) ed25519.PrivateKey {
	b, err := hex.DecodeString(seed)
	if err != nil || len(b) != ed25519.SeedSize {
		return nil
	}
	return ed25519.NewKeyFromSeed(b)
}

func publicOf(seed string) events.Key {
	key := keyFrom(seed)
	if key == nil {
		return ""
	}
	return events.KeyOf(key.Public().(ed25519.PublicKey))
}

func readKeys(at journal.FS) (keyring, error) {
	var k keyring
	err := readJSON(at, keysFile, &k)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return k, err
	case err == nil && k.V > keysLocked:
		return k, fmt.Errorf("read keys: %s was written by a later version of pairwalk; install that one", keysFile)
	case err != nil || !k.whole():
		return k, fmt.Errorf("read keys: %s is damaged; join the site again with a new invite", keysFile)
	}
	return k, nil
}

func readJSON(at journal.FS, name string, v any) error {
	b, err := at.Read(name)
	if err != nil {
		return err
	}
	return json.Unmarshal(b, v)
}

// writeJSON puts a small file in place whole, or leaves the old one.
func writeJSON(at journal.FS, name string, v any) error {
	b, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		return err
	}
	return journal.Replace(at, name, append(b, '\n'))
}
