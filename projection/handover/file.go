package handover

// File is one file of a pack. Its name has slashes for folders and leads nowhere
// outside the pack.
type File struct {
	Name    string
	Content []byte
}

// Sum is the SHA-256 of the content, in hex.
func (f File) Sum() string { return sumOf(f.Content) }
