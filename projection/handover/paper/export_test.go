package paper

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Visual and Develop are looked at by themselves.
var (
	Visual  = visual
	Develop = func(content []byte) ([]byte, error) { p, err := develop(content); return p.jpeg, err }
)

// MostPixels is the largest picture that is opened.
const MostPixels = mostPixels

// The press breaks lines by widths that it reads from the typeface, and the writer
// of the file prints by its own: they must be the same for every character, or text
// would run out of its column.
func TestWidthsAreThoseOfTheFile(t *testing.T) {
	p, err := newPress(sampleTitle)
	require.NoError(t, err)
	pdf := p.newFile()
	pdf.AddPage()
	shown := 0
	for _, f := range []*face{p.regular, p.bold} {
		pdf.SetFont(family, f.style, 10)
		for r := rune(32); r < 0xFFFF; r++ {
			if f.shows(r) {
				shown++
				w, _ := f.advance(r)
				require.Equal(t, pdf.GetStringSymbolWidth(string(r)), int(w), "U+%04X", r)
			}
		}
	}
	require.Greater(t, shown, 2*4000)
}
