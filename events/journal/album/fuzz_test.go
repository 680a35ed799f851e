package album_test

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/album"
)

// FuzzAlbum opens an album where somebody with the disk in hand put any file: what
// is handed out under a name is what the name says, and a part is never believed.
func FuzzAlbum(f *testing.F) {
	name, content := photo(3, 400)
	for _, file := range []string{name, name + ".part", name + ".new", name + ".damaged-1", strings.ToUpper(name), "x", name[:63], ".part", name + ".part.part", "../" + name} {
		f.Add(file, content)
		f.Add(file, content[:100])
		f.Add(file, append([]byte("x"), content...))
		f.Add(file, append([]byte("x"), content[1:100]...))
	}
	f.Fuzz(func(t *testing.T, file string, b []byte) {
		at := journal.Memory()
		if strings.ContainsAny(file, "/\x00") || file == "" {
			return
		}
		at.Put("pictures/"+file, b)
		a := opened(t, at)
		for _, held := range append(a.List(), name, file) {
			got, err := a.Read(held)
			if err == nil {
				sum := sha256.Sum256(got)
				require.Equal(t, held, hex.EncodeToString(sum[:]))
			}
			piece, of, err := a.Piece(held, 0, 1<<20)
			if err == nil {
				require.LessOrEqual(t, of, int64(events.MaxPicture))
				require.LessOrEqual(t, int64(len(piece)), of)
			}
		}
		if from := a.Got(name); from > 0 && from <= int64(len(content)) { // goes on from whatever stands there
			err := a.Append(name, from, content[from:])
			if err == nil {
				err = a.Finish(name, int64(len(content)))
			}
			if err != nil {
				require.ErrorIs(t, err, album.ErrWrong)
			} else {
				got, err := at.Read("pictures/" + name)
				require.NoError(t, err)
				require.Equal(t, content, got, "no part is believed")
			}
		}
		require.NoError(t, a.Put(name, content))
		got, err := a.Read(name)
		require.NoError(t, err)
		require.Equal(t, content, got)
		_, err = a.Check()
		require.NoError(t, err)
	})
}
