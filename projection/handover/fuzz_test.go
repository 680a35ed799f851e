package handover_test

import (
	"bytes"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/handover"
)

// FuzzCheck puts any bytes in the place of one file of a pack, with or without
// having the sums fit: a pack that was changed is never found to be whole, by its
// sums or else by what the log in it is sealed for.
func FuzzCheck(f *testing.F) {
	p, err := handover.Bind(sourceOf(photographed().History()), pages, "tools 1", func(of string) ([]byte, error) { return []byte("a log sealed for " + of), nil })
	require.NoError(f, err)
	whole := lying(p)
	names := append(fileNames(p), "csv/more.csv", "more", "photos/"+hashOf(crack)+".gif")
	for i, name := range names {
		if file := whole[name]; file != nil {
			f.Add(byte(i), file.Data, false)
			f.Add(byte(i), append(bytes.Clone(file.Data), '\n'), true)
			f.Add(byte(i), append(bytes.Clone(file.Data), '\n'), false)
			f.Add(byte(i), file.Data[:len(file.Data)/2], true)
		}
	}
	sealed := "a log sealed for " + sealedOf(f, whole)
	f.Fuzz(func(t *testing.T, which byte, content []byte, fit bool) {
		at := lying(p)
		name := names[int(which)%len(names)]
		was := at[name]
		at[name] = &fstest.MapFile{Data: content, Mode: 0o644}
		if fit && name != handover.SumsFile {
			summed(at)
		}
		found, flaws, err := handover.Check(at)
		if err != nil {
			return
		}
		handover.IsPack(at)
		handover.LooksLikePack(at)
		_, _ = found.Moment()
		if photo, ok := found.Photo(hashOf(leak)); ok {
			require.Equal(t, leak, photo)
		}
		log, err := found.Log()
		if err == nil {
			log.Close()
		}
		changed := was == nil || !bytes.Equal(was.Data, content)
		if changed && len(flaws) == 0 && name != handover.LogFile { // the log proves itself, by signatures
			require.NotEqual(t, sealed, "a log sealed for "+found.SealedFor(), "%s was changed and nobody noticed", name)
		}
		if !changed {
			require.Empty(t, flaws)
		}
	})
}

func sealedOf(t testing.TB, at fstest.MapFS) string {
	found, flaws, err := handover.Check(at)
	require.NoError(t, err)
	require.Empty(t, flaws)
	return found.SealedFor()
}
