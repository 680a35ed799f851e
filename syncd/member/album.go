package member

import (
	"pairwalk/events/journal/album"
	"pairwalk/syncd"
)

// Album is what a member asks of whatever keeps the pictures its entries speak of,
// which is an [album.Album] unless they are kept elsewhere than on its own disk.
// The album's documentation says what each method promises.
type Album interface {
	syncd.Shelf
	// Put keeps a whole picture, durably.
	Put(sha256 string, content []byte) error
	// Read reads a picture and compares it with its name.
	Read(sha256 string) ([]byte, error)
	// Append writes a piece of a picture that is on its way.
	Append(sha256 string, from int64, piece []byte) error
	// Finish makes a picture of its pieces, durably.
	Finish(sha256 string, size int64) error
	// Damaged says whether a picture was here and is spoilt.
	Damaged(sha256 string) bool
	// Check reads every picture, and lists those that are not as they were.
	Check() (lost []string, err error)
}

var _ Album = (*album.Album)(nil)
