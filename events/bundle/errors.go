package bundle

import "errors"

// Errors of reading a bundle. Each says what to do.
var (
	ErrNotBundle = errors.New("this is not a bundle: choose the file that pairwalk wrote with bundle out")
	ErrVersion   = errors.New("this bundle was made by another version of pairwalk: install the version its maker has")
	ErrDamaged   = errors.New("this bundle is damaged or cut off, and nothing was taken from it: ask for the file again")
	ErrForged    = errors.New("this bundle does not prove what it holds, and nothing was taken from it: ask another member for one")
	ErrWrongSite = errors.New("this bundle is of another site: choose that site, or ask for this one's bundle")
	ErrTooLarge  = errors.New("a bundle holds at most 256 MiB of events in a file of at most 128 MiB: sync over a network instead")
)

// Errors of writing one.
var (
	// ErrLines says that the lines are not one site's feeds in order, with every
	// gap listed as holes.
	ErrLines = errors.New("lines do not make a bundle")
	// ErrHeads says that the lines do not lead to the heads of the manifest.
	ErrHeads = errors.New("lines do not bear out the heads")
	// ErrUnproved says that the last line before a gap is not validly signed
	// itself, so that nothing in the file would vouch for it.
	ErrUnproved = errors.New("a line before a gap has no valid signature of its own: sync with a member who has the lines after it, and try again")
)
