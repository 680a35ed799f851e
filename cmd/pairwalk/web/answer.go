package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"strconv"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// wrong is an error of what was asked, rather than of the work.
type wrong struct{ error }

func (w wrong) Unwrap() error { return w.error }

func wrongf(format string, args ...any) error { return wrong{fmt.Errorf(format, args...)} }

// tell answers with a document, or says why there is none.
func (p *Page) tell(w http.ResponseWriter, doc any, err error) {
	if err != nil {
		p.fail(w, err)
		return
	}
	if b, err := encode(doc); err == nil {
		w.Header().Set("Content-Type", "application/json")
		_, _ = w.Write(b) // whoever asked may be gone
	}
}

func encode(doc any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(doc)
	return b.Bytes(), err
}

// tellAgain answers a question that may have been asked before, with what came of it
// then: only that nothing has changed, where nothing has (RFC 9110, 13.1.2).
func (p *Page) tellAgain(w http.ResponseWriter, r *http.Request, doc any, err error) {
	if err != nil {
		p.fail(w, err)
		return
	}
	b, err := encode(doc)
	if err != nil {
		return
	}
	sum := sha256.Sum256(b)
	tag := `"` + hex.EncodeToString(sum[:16]) + `"`
	w.Header().Set("ETag", tag)
	if r.Header.Get("If-None-Match") == tag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(b)
}

func (p *Page) fail(w http.ResponseWriter, err error) {
	if errors.Is(err, journal.ErrBroken) {
		p.mu.Lock()
		p.broken = "the disk takes nothing more; make room on it, and this goes on by itself"
		p.mu.Unlock()
	}
	var bad wrong
	var large *http.MaxBytesError
	code := http.StatusUnprocessableEntity
	switch {
	case errors.As(err, &large):
		code, err = http.StatusRequestEntityTooLarge, fmt.Errorf("that is more than the %d MB that are taken at a time", large.Limit>>20)
	case errors.As(err, &bad):
		code = http.StatusBadRequest
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, member.ErrUnknown):
		code = http.StatusNotFound
	case errors.Is(err, member.ErrRole):
		code = http.StatusForbidden
	case errors.Is(err, journal.ErrBroken):
		code = http.StatusInsufficientStorage
	}
	refuse(w, code, err.Error())
}

func refuse(w http.ResponseWriter, code int, words string) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(code)
	_ = json.NewEncoder(w).Encode(map[string]string{"error": words})
}

// Most bytes of what may be posted.
const (
	mostWords   = 1 << 20
	mostFile    = intake.MaxBytes
	mostPicture = events.MaxPicture
	mostBundle  = 1 << 30
)

// read decodes a posted document. Fields that nobody knows are an error: a page
// that says more than is understood is of another version.
func read(w http.ResponseWriter, r *http.Request, into any) error {
	b, err := bytesOf(w, r, mostWords)
	if err != nil {
		return wrongf("read what the page said: %w", err)
	}
	if !whole(b) {
		return wrongf("read what the page said: some of its text is no Unicode")
	}
	dec := json.NewDecoder(bytes.NewReader(b))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		return wrongf("read what the page said: %w", err)
	}
	if _, err := dec.Token(); err != io.EOF {
		return wrongf("read what the page said: there is more after its end")
	}
	return nil
}

// whole says whether the text of a document is Unicode: package json would take
// something else in the place of what is not.
func whole(b []byte) bool {
	for i := 0; i < len(b); i++ {
		if b[i] != '\\' {
			continue
		}
		r := escaped(b[i:])
		if utf16.IsSurrogate(r) {
			i += 6
			if utf16.DecodeRune(r, escaped(b[min(i, len(b)):])) == unicode.ReplacementChar {
				return false
			}
		}
		i++ // also past a second backslash
	}
	return utf8.Valid(b)
}

// escaped is what an escape \u0000 at the start stands for, else 0.
func escaped(b []byte) rune {
	if len(b) < 6 || b[0] != '\\' || b[1] != 'u' {
		return 0
	}
	n, err := strconv.ParseUint(string(b[2:6]), 16, 16)
	if err != nil {
		return 0
	}
	return rune(n)
}

func bytesOf(w http.ResponseWriter, r *http.Request, most int64) ([]byte, error) {
	return io.ReadAll(http.MaxBytesReader(w, r.Body, most))
}

// moment reads at, known_by and known_at.
func (p *Page) moment(r *http.Request) (projection.Moment, error) {
	var out projection.Moment
	q := r.URL.Query()
	if at := q.Get("at"); at != "" {
		t, err := p.instant(at)
		if err != nil {
			return out, err
		}
		out.When = events.Some(t)
	}
	if by := q.Get("known_by"); by != "" {
		who, err := p.m.Person(by)
		if err != nil {
			return out, err
		}
		out.Known.Member = who.Key
	}
	if at := q.Get("known_at"); at != "" {
		t, err := p.instant(at)
		if err != nil {
			return out, err
		}
		out.Known.At = events.Some(t)
	}
	return out, nil
}

// instant reads a time as people type it, in the site's zone.
func (p *Page) instant(text string) (events.Instant, error) {
	zone := p.m.Now().Location()
	t, err := intake.ParseMoment(text, p.o.Now().Wall.At.Time().In(zone), zone)
	if err != nil {
		return 0, wrong{err}
	}
	return t, nil
}

// full is a list that is never null.
func full[T any](in []T) []T {
	if in == nil {
		return []T{}
	}
	return in
}
