package member

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"

	"pairwalk/events"
	"pairwalk/events/journal"
)

// ErrKeysClear says that there is no passphrase to remove.
var ErrKeysClear = errors.New("the keys of this site have no passphrase")

// keysLock is held by whoever changes the keys' file.
const keysLock = "keys.lock"

// Unlock asks for a site's passphrase, if it has one, ahead of the work that needs it.
func (h *Home) Unlock(name string) (SiteInfo, error) {
	info, err := h.Find(name)
	if err != nil {
		return info, err
	}
	keys, err := readKeys(h.folder(info.ID))
	if err != nil {
		return info, err
	}
	_, err = h.unlock(keys)
	return info, err
}

// SetPassphrase locks a site's keys with a passphrase, in place of the one they had.
// Members that are open stay open.
func (h *Home) SetPassphrase(name, passphrase string, work Work) (SiteInfo, error) {
	passphrase, err := goodPassphrase(passphrase)
	if err != nil {
		return SiteInfo{}, err
	}
	return h.rekey(name, func(plain keyring) (keyring, error) { return plain.lock(passphrase, work) })
}

// RemovePassphrase leaves a site's keys in the clear.
func (h *Home) RemovePassphrase(name string) (SiteInfo, error) {
	return h.rekey(name, func(plain keyring) (keyring, error) {
		if !plain.guarded {
			return plain, ErrKeysClear
		}
		return plain, nil
	})
}

// rekey puts another form of the same keys in the place of the old one.
func (h *Home) rekey(name string, change func(keyring) (keyring, error)) (SiteInfo, error) {
	info, err := h.Find(name)
	if err != nil {
		return info, err
	}
	at := h.folder(info.ID)
	lock, err := at.Lock(keysLock)
	if errors.Is(err, journal.ErrLocked) {
		return info, errors.New("another command is changing the passphrase of this site; try again when it is done")
	}
	if err != nil {
		return info, fmt.Errorf("change keys: %w", err)
	}
	defer lock.Close()
	keys, err := readKeys(at)
	if err != nil {
		return info, err
	}
	if keys, err = h.unlock(keys); err != nil {
		return info, err
	}
	if keys, err = change(keys); err != nil {
		return info, err
	}
	if err := writeJSON(at, keysFile, keys); err != nil {
		return info, errors.Join(fmt.Errorf("write keys: %w; they are here as before or as asked, so try either passphrase", err), dropFresh(at))
	}
	keys.guarded = false
	return keys.info(), nil
}

// sweep removes what a crash in the middle of changing the keys left behind.
func (h *Home) sweep(id events.SiteID) {
	at := h.folder(id)
	if _, err := at.Read(keysFile + journal.FreshSuffix); err != nil {
		return
	}
	lock, err := at.Lock(keysLock)
	if err != nil {
		return // it is being written
	}
	defer lock.Close()
	if err := dropFresh(at); err != nil && h.world.Log != nil {
		h.world.Log.Warn("keys left behind", "err", err)
	}
}

func dropFresh(at journal.FS) error {
	err := at.Remove(keysFile + journal.FreshSuffix)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return errors.Join(err, at.SyncDir("."))
}

// unlock is the keyring with its secrets. The world is asked for the passphrase
// where they are locked and were not unlocked before.
func (h *Home) unlock(keys keyring) (keyring, error) {
	if !keys.locked() {
		return keys, nil
	}
	h.mu.Lock()
	had, ok := h.unlocked[keys.Site]
	h.mu.Unlock()
	if ok && bytes.Equal(had.Locked, keys.Locked) {
		had.Locked = nil
		return had, nil
	}
	if h.world.Passphrase == nil {
		return keys, ErrKeysLocked
	}
	passphrase, err := h.world.Passphrase(keys.info())
	if err != nil {
		return keys, err
	}
	plain, err := keys.open(passphrase)
	if err != nil {
		return keys, err
	}
	had = plain
	had.Locked = keys.Locked
	h.mu.Lock()
	h.unlocked[keys.Site] = had
	h.mu.Unlock()
	return plain, nil
}
