package member

import (
	"archive/tar"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"

	"pairwalk/events"
	"pairwalk/events/journal/album"
)

// Pictures travel without a network in a tar file beside the bundle: each under its
// SHA-256 and the ending of its type, so that any computer shows them. The file
// proves nothing and need not: each picture is compared with its name.

// PhotosOut writes the pictures that entries speak of and that are here, and says
// how many there are, and how many are not here.
func (m *Member) PhotosOut(w io.Writer) (written, away int, err error) {
	t := tar.NewWriter(w)
	done := map[string]bool{}
	for _, p := range picturesOf(m.Now()) {
		if done[p.SHA256] {
			continue
		}
		done[p.SHA256] = true
		b, err := m.Picture(p.SHA256)
		if errors.Is(err, fs.ErrNotExist) {
			away++
			continue
		}
		if err == nil {
			err = t.WriteHeader(&tar.Header{Name: p.SHA256 + endingOf(p.Type), Mode: 0o600, Size: int64(len(b)), Format: tar.FormatUSTAR})
		}
		if err == nil {
			_, err = t.Write(b)
		}
		if err != nil {
			return written, away, fmt.Errorf("write pictures: %w", err)
		}
		written++
	}
	return written, away, t.Close()
}

// endingOf is how a file of a media type is called.
func endingOf(kind string) string {
	switch _, sub, _ := strings.Cut(kind, "/"); sub {
	case "jpeg":
		return ".jpg"
	case "png", "gif", "webp", "bmp":
		return "." + sub
	}
	return ""
}

// PhotosReceived is what came of taking in a file of pictures.
type PhotosReceived struct {
	Fresh int // pictures that are here now and were not
	Known int // were here
	Spare int // files of which no entry here speaks
	Wrong int // not what their name says, or too large
}

// PhotosIn takes in the pictures of a file that entries here speak of and that are
// not here. It stops where the file is torn, or the disk does not write; what came
// before is kept.
func (m *Member) PhotosIn(r io.Reader) (PhotosReceived, error) {
	var got PhotosReceived
	counts := map[string]bool{}
	for _, p := range picturesOf(m.Now()) {
		counts[p.SHA256] = true
	}
	defer func() {
		if got.Fresh > 0 {
			m.pictureCame()
		}
	}()
	t := tar.NewReader(r)
	for {
		h, err := t.Next()
		if errors.Is(err, io.EOF) {
			return got, nil
		}
		if err != nil {
			return got, fmt.Errorf("read pictures: the file is torn or no file of pictures: %w", err)
		}
		name, _, _ := strings.Cut(path.Base(h.Name), ".")
		switch {
		case h.Typeflag != tar.TypeReg || !counts[name]:
			got.Spare++
		case m.album.Holds(name):
			got.Known++
		case h.Size > events.MaxPicture:
			got.Wrong++
		default:
			if err := m.photoIn(name, t, &got); err != nil {
				return got, err
			}
		}
	}
}

func (m *Member) photoIn(name string, r io.Reader, got *PhotosReceived) error {
	b, err := io.ReadAll(r)
	if err != nil {
		return fmt.Errorf("read pictures: the file is torn: %w", err)
	}
	switch err := m.album.Put(name, b); {
	case errors.Is(err, album.ErrWrong):
		got.Wrong++
	case err != nil:
		return fmt.Errorf("take in pictures: %w", err)
	default:
		got.Fresh++
	}
	return nil
}
