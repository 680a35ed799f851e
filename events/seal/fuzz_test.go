package seal_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/seal"
)

// Whatever is let in comes out byte for byte, is signed, and decodes.
func FuzzOpen(f *testing.F) {
	for _, v := range chain(f, 2) {
		f.Add(v.Line())
		f.Add(unsigned(v))
		f.Add(v.Signed())
	}
	f.Add(signedAs(benKey, header(99, 1, "")+`,"mood":"good"`))
	f.Add(signedAs(benKey, header(1, 1, "")))
	f.Fuzz(func(t *testing.T, line []byte) {
		v, err := seal.Open(line)
		if err != nil {
			return
		}
		require.Equal(t, line, v.Line())
		require.NoError(t, v.CheckSignature())
		require.LessOrEqual(t, len(line), seal.MaxLine)
		require.NotContains(t, string(line), "\n")
		e := v.Event()
		require.Equal(t, v.Ref(), e.Ref())
		if e.Understood() {
			signed, err := e.Encode()
			require.NoError(t, err)
			require.Equal(t, string(v.Signed()), string(signed))
		}
	})
}

// Whatever lines are let in are the first of those given, follow each other, and
// end with one that is validly signed.
func FuzzOpenRun(f *testing.F) {
	lines := linesOf(chain(f, 4))
	f.Add(bytes.Join(lines, []byte("\n")))
	f.Add(bytes.Join(lines[2:], []byte("\n")))
	f.Add(bytes.Join([][]byte{lines[0], lines[1], lines[3]}, []byte("\n")))
	f.Add(bytes.Join([][]byte{lines[0], unsigned(chain(f, 2)[1]), lines[2]}, []byte("\n")))
	f.Add([]byte("\n\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		lines := bytes.Split(text, []byte("\n"))
		run, err := seal.OpenRun(lines)
		if len(run) < len(lines) {
			require.Error(t, err)
		}
		for i, v := range run {
			require.Equal(t, lines[i], v.Line())
			if i > 0 {
				require.True(t, v.Follows(run[i-1]))
			}
		}
		if len(run) > 0 {
			require.NoError(t, run[len(run)-1].CheckSignature())
		}
	})
}
