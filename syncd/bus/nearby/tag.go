package nearby

import (
	"crypto/sha256"
	"encoding/base32"
	"fmt"
	"io"
	"strings"

	"pairwalk/events"
)

// base32Text is RFC 4648 base32 in lower case, without padding.
var base32Text = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

const (
	version   = "1"
	saltBytes = 8
	saltChars = 13
	tagChars  = 16
)

// draw reads 8 random bytes and writes them as text.
func draw(rand io.Reader) (string, error) {
	var b [saltBytes]byte
	if _, err := io.ReadFull(rand, b[:]); err != nil {
		return "", fmt.Errorf("draw random bytes: %w", err)
	}
	return base32Text.EncodeToString(b[:]), nil
}

// tagOf is what the members of a site expect beside a salt, or "" where salt is
// not the one spelling of what it stands for.
func tagOf(site events.SiteID, salt string) string {
	raw, err := base32Text.DecodeString(salt)
	if err != nil || base32Text.EncodeToString(raw) != salt {
		return ""
	}
	sum := sha256.Sum256([]byte("pairwalk meet v1\n" + string(site) + "\n" + string(raw)))
	return base32Text.EncodeToString(sum[:])[:tagChars]
}

// mark is the TXT record that members of the site recognise by this salt.
func mark(site events.SiteID, salt string) []string {
	return []string{"v=" + version, "t=" + salt + "." + tagOf(site, salt)}
}

// marked says whether a TXT record is a mark of this site.
func marked(site events.SiteID, txt []string) bool {
	if v, ok := value(txt, "v"); !ok || v != version {
		return false
	}
	t, ok := value(txt, "t")
	if !ok || len(t) != saltChars+1+tagChars || t[saltChars] != '.' {
		return false
	}
	return tagOf(site, t[:saltChars]) == t[saltChars+1:]
}

// value reads one key of a TXT record. Keys have no case, the first string with
// a key counts, and unknown ones are passed over (RFC 6763 §6.4).
func value(txt []string, key string) (string, bool) {
	for _, s := range txt {
		if k, v, ok := strings.Cut(s, "="); strings.EqualFold(k, key) {
			return v, ok
		}
	}
	return "", false
}
