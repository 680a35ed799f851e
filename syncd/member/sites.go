package member

import (
	"crypto/ed25519"
	"errors"
	"fmt"
	"io/fs"

	"pairwalk/events"
)

// This file is a home as one uses it that has many sites: by id, and reading no
// more than is asked for.

// IDs are the folders of this home's sites, sorted. No file is read: one of them may
// hold no keys, see Keys.
func (h *Home) IDs() ([]events.SiteID, error) {
	names, err := h.at.List(sitesDir)
	if err != nil {
		return nil, fmt.Errorf("list sites: %w", err)
	}
	out := make([]events.SiteID, len(names))
	for i, name := range names {
		out[i] = events.SiteID(name)
	}
	return out, nil
}

// Keys is this installation on one site: who it is there, and the key that it
// shows itself with on a bus, for which the passphrase is asked where there is one.
// No log is read.
func (h *Home) Keys(id events.SiteID) (SiteInfo, ed25519.PrivateKey, error) {
	k, err := readKeys(h.folder(id))
	if errors.Is(err, fs.ErrNotExist) {
		return SiteInfo{}, nil, ErrNoSite
	}
	if err != nil {
		return SiteInfo{}, nil, err
	}
	if k, err = h.unlock(k); err != nil {
		return SiteInfo{}, nil, err
	}
	return k.info(), k.busKey(), nil
}

// OpenSite opens one site for work.
func (h *Home) OpenSite(id events.SiteID) (*Member, error) {
	keys, err := readKeys(h.folder(id))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, ErrNoSite
	}
	if err != nil {
		return nil, err
	}
	return h.open(keys)
}
