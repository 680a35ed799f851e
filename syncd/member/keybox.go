package member

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"unicode"
	"unicode/utf8"

	"filippo.io/age"
	"golang.org/x/text/unicode/norm"
)

// Work is how much a guess at a passphrase costs: the logarithm of scrypt's N, whose
// memory is 2^Work KiB.
type Work int

// Work at locking. A locked file that asks for more than the most is not tried.
const (
	UsualWork Work = 18 // age's own choice: about a second, and 256 MiB
	MostWork  Work = 20
)

// Bounds of a passphrase.
const (
	passphraseLeast = 8   // characters
	passphraseMost  = 512 // bytes
)

var errNoText = errors.New("it has characters that are not text")

// goodPassphrase is a passphrase as it is used, if it will do.
func goodPassphrase(text string) (string, error) {
	text, err := normal(text)
	switch {
	case err != nil:
		return "", fmt.Errorf("this passphrase can't be used: %w", err)
	case utf8.RuneCountInString(text) < passphraseLeast:
		return "", fmt.Errorf("a passphrase has %d characters at least; four or more words drawn by lot are better", passphraseLeast)
	case len(text) > passphraseMost:
		return "", fmt.Errorf("a passphrase has %d bytes at most", passphraseMost)
	}
	return text, nil
}

func normal(text string) (string, error) {
	if !utf8.ValidString(text) {
		return "", errNoText
	}
	for _, r := range text {
		if unicode.IsControl(r) {
			return "", errNoText
		}
	}
	return norm.NFC.String(text), nil
}

// lock is a clear keyring under a passphrase.
func (k keyring) lock(passphrase string, work Work) (keyring, error) {
	if work < 1 || work > MostWork {
		return k, fmt.Errorf("lock keys: work is from 1 to %d, not %d", MostWork, work)
	}
	to, err := age.NewScryptRecipient(passphrase)
	if err != nil {
		return k, fmt.Errorf("lock keys: %w", err)
	}
	to.SetWorkFactor(int(work))
	plain, err := json.Marshal(k)
	if err != nil {
		return k, fmt.Errorf("lock keys: %w", err)
	}
	var box bytes.Buffer
	w, err := age.Encrypt(&box, to)
	if err == nil {
		_, err = w.Write(plain)
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		return k, fmt.Errorf("lock keys: %w", err)
	}
	out := k.face()
	out.Locked = box.Bytes()
	return out, nil
}

// face is what a locked keyring shows.
func (k keyring) face() keyring {
	k.V, k.FeedKey, k.BusKey = keysLocked, k.key(), k.bus()
	k.FeedSeed, k.BusSeed, k.Locked, k.guarded = "", "", nil, false
	return k
}

// open is the clear keyring that is locked here.
func (k keyring) open(passphrase string) (keyring, error) {
	damaged := fmt.Errorf("read keys: %s is damaged; join the site again with a new invite", keysFile)
	passphrase, err := normal(passphrase)
	if err != nil || passphrase == "" {
		return k, ErrPassphrase
	}
	by, err := age.NewScryptIdentity(passphrase)
	if err != nil {
		return k, fmt.Errorf("unlock keys: %w", err)
	}
	by.SetMaxWorkFactor(int(MostWork))
	r, err := age.Decrypt(bytes.NewReader(k.Locked), by)
	var wrong *age.NoIdentityMatchError
	if errors.As(err, &wrong) {
		return k, ErrPassphrase
	}
	if err != nil {
		return k, damaged
	}
	b, err := io.ReadAll(r)
	if err != nil {
		return k, damaged
	}
	var plain keyring
	if json.Unmarshal(b, &plain) != nil || plain.locked() || !plain.whole() {
		return k, damaged
	}
	if face := k.face(); !face.same(plain.face()) {
		return k, damaged
	}
	plain.guarded = true
	return plain, nil
}

// same compares all but what is locked.
func (k keyring) same(o keyring) bool {
	a, errA := json.Marshal(k)
	b, errB := json.Marshal(o)
	return errA == nil && errB == nil && bytes.Equal(a, b)
}
