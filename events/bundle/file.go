package bundle

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"hash"
	"io"
)

// The largest bundle: of text, and of the file.
const (
	MaxText = 256 << 20
	MaxFile = 128 << 20
)

// sizes are the limits in force; tests use small ones.
type sizes struct{ text, file int64 }

// The parts of the last gzip member: a header with no time and a comment, an
// empty final block, and the checksum and length of nothing (RFC 1952 §2.3).
const (
	gzipMagic   = "\x1f\x8b\x08"
	tailHeader  = gzipMagic + "\x10\x00\x00\x00\x00\x00\xff"
	tailComment = "pairwalk "
	tailEnd     = "\x00" + "\x01\x00\x00\xff\xff" + "\x00\x00\x00\x00\x00\x00\x00\x00"
	tailBytes   = len(tailHeader) + len(tailComment) + 2*sha256.Size + len(tailEnd)
)

// tail is the last member after a first one with that SHA-256.
func tail(sum []byte) []byte {
	return []byte(tailHeader + tailComment + hex.EncodeToString(sum) + tailEnd)
}

// packing compresses text into a file as it is written, and hashes both.
type packing struct {
	text    hash.Hash
	textLen int64
	file    hash.Hash
	fileLen int64
	out     io.Writer
	gz      *gzip.Writer
	limit   sizes
}

func newPacking(w io.Writer, limit sizes) *packing {
	p := &packing{text: sha256.New(), file: sha256.New(), out: w, limit: limit}
	p.gz = gzip.NewWriter((*packed)(p))
	return p
}

// line writes one line of text and its line feed.
func (p *packing) line(b []byte) error {
	p.textLen += int64(len(b)) + 1
	if p.textLen > p.limit.text {
		return ErrTooLarge
	}
	for _, part := range [][]byte{b, {'\n'}} {
		p.text.Write(part)
		if _, err := p.gz.Write(part); err != nil {
			return err
		}
	}
	return nil
}

// close ends the file.
func (p *packing) close() error {
	if err := p.gz.Close(); err != nil {
		return err
	}
	_, err := p.out.Write(tail(p.file.Sum(nil)))
	return err
}

// packed is the compressed side of a packing.
type packed packing

func (p *packed) Write(b []byte) (int, error) {
	p.fileLen += int64(len(b))
	if p.fileLen+int64(tailBytes) > p.limit.file {
		return 0, ErrTooLarge
	}
	p.file.Write(b)
	return p.out.Write(b)
}

// unpack reads a file and gives its text, after checking that not a byte of the
// file has changed since it was written.
func unpack(r io.Reader, limit sizes) ([]byte, error) {
	file, err := readAtMost(r, limit.file)
	if err != nil {
		return nil, err
	}
	if !bytes.HasPrefix(file, []byte(gzipMagic)) {
		return nil, ErrNotBundle
	}
	member := file[:max(0, len(file)-tailBytes)]
	sum := sha256.Sum256(member)
	if !bytes.Equal(file[len(member):], tail(sum[:])) {
		return nil, whatIsThis(file)
	}
	src := bytes.NewReader(member)
	z, err := gzip.NewReader(src)
	if err != nil {
		return nil, ErrDamaged
	}
	z.Multistream(false)
	text, err := readAtMost(z, limit.text)
	switch {
	case errors.Is(err, ErrTooLarge):
		return nil, err
	case err != nil || src.Len() > 0:
		return nil, ErrDamaged
	}
	return text, nil
}

// whatIsThis tells a bundle that was damaged from some other compressed file.
func whatIsThis(file []byte) error {
	z, err := gzip.NewReader(bytes.NewReader(file))
	if err != nil {
		return ErrDamaged
	}
	start := make([]byte, len(firstLine))
	if n, _ := io.ReadFull(z, start); string(start[:n]) != firstLine[:n] {
		return ErrNotBundle
	}
	return ErrDamaged
}

// readAtMost reads all of r, or fails with ErrTooLarge once it is past the limit.
func readAtMost(r io.Reader, limit int64) ([]byte, error) {
	b, err := io.ReadAll(io.LimitReader(r, limit+1))
	if err == nil && int64(len(b)) > limit {
		err = ErrTooLarge
	}
	return b, err
}
