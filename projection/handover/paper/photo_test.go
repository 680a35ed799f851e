package paper_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/handover"
	"pairwalk/projection/handover/paper"
)

func TestPicturesAreShownOrSaidToBeMissing(t *testing.T) {
	pdf := printed(t, handover.Document{Title: "T", Parts: []handover.Part{{Title: "Photos", Blocks: pictures(t)}}})
	list := poppler(t, pdf, "pdfimages", "-list")
	require.Equal(t, 4, strings.Count(list, " image "), list)
	text := squeeze(strings.Join(pageTexts(t, pdf), ""))
	require.Contains(t, text, squeeze("This picture is not held by the maker of this pack."))
	require.Contains(t, text, squeeze("it has 60000 x 60000"))
	require.Equal(t, 1, strings.Count(text, squeeze("shown: its content is")))
	require.Equal(t, 2, strings.Count(text, squeeze("it is no JPEG, PNG, GIF")))
	for i := 1; i <= 9; i++ {
		require.Contains(t, text, sum(i)[:32])
		require.Contains(t, text, sum(i)[32:])
	}
}

// One picture in two places is in the file once.
func TestAPictureIsKeptOnce(t *testing.T) {
	shot := handover.Photo{SHA256: sum(1), Content: asJPEG(t, noise(600, 400))}
	print := func(blocks ...handover.Block) int {
		return len(printed(t, handover.Document{Title: "T", Parts: []handover.Part{{Title: "P", Blocks: blocks}}}))
	}
	require.Less(t, print(shot, shot, shot, shot)-print(shot), 4000)
}

// A file of a few bytes that says it is huge is given no memory.
func TestABombTakesNoMemory(t *testing.T) {
	content := bomb(t)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, err := paper.Develop(content)
	runtime.ReadMemStats(&after)
	require.ErrorContains(t, err, "60000 x 60000")
	require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(1<<20))
}

// turnedJPEG says how its camera was held.
func turnedJPEG(t *testing.T, img image.Image, value uint16, order binary.AppendByteOrder, magic string) []byte {
	tiff := []byte(magic)
	tiff = order.AppendUint32(tiff, 8)
	tiff = order.AppendUint16(tiff, 2)
	for _, tag := range []uint16{0x0100, 0x0112} {
		tiff = order.AppendUint16(tiff, tag)
		tiff = order.AppendUint16(tiff, 3)
		tiff = order.AppendUint32(tiff, 1)
		tiff = order.AppendUint16(tiff, value)
		tiff = append(tiff, 0, 0)
	}
	exif := append([]byte("Exif\x00\x00"), tiff...)
	head := []byte{0xFF, 0xD8, 0xFF, 0xE0, 0, 4, 'x', 'x', 0xFF, 0xE1}
	head = binary.BigEndian.AppendUint16(head, uint16(len(exif)+2))
	return append(append(head, exif...), asJPEG(t, img)[2:]...)
}

// A camera that was held any way gives a picture that stands upright. Each of the
// eight values says where row 0 and column 0 of the file belong (Exif 2.32, 4.6.4.A):
// the file's first corner is dark, the one beside it in the row is grey.
func TestPicturesStandUpright(t *testing.T) {
	img := image.NewGray(image.Rect(0, 0, 96, 64))
	for y := range 64 {
		for x := range 96 {
			shade := uint8(255)
			if y < 32 && x < 48 {
				shade = 0
			} else if y < 32 {
				shade = 128
			}
			img.SetGray(x, y, color.Gray{Y: shade})
		}
	}
	const left, right, top, bottom = 0, 1, 0, 1
	for value, want := range map[uint16]struct{ darkX, darkY, greyX, greyY int }{
		0: {left, top, right, top}, 1: {left, top, right, top}, 2: {right, top, left, top},
		3: {right, bottom, left, bottom}, 4: {left, bottom, right, bottom}, 5: {left, top, left, bottom},
		6: {right, top, right, bottom}, 7: {right, bottom, right, top}, 8: {left, bottom, left, top}, 9: {left, top, right, top},
	} {
		for magic, order := range map[string]binary.AppendByteOrder{"II*\x00": binary.LittleEndian, "MM\x00*": binary.BigEndian} {
			t.Run(fmt.Sprint(value, magic[:2]), func(t *testing.T) {
				out, err := paper.Develop(turnedJPEG(t, img, value, order, magic))
				require.NoError(t, err)
				got, err := jpeg.Decode(bytes.NewReader(out))
				require.NoError(t, err)
				b := got.Bounds()
				require.Equal(t, value >= 5 && value <= 8, b.Dy() > b.Dx())
				shade := func(x, y int) int {
					r, _, _, _ := got.At(b.Dx()/4+x*b.Dx()/2, b.Dy()/4+y*b.Dy()/2).RGBA()
					return int(r >> 8)
				}
				require.InDelta(t, 0, shade(want.darkX, want.darkY), 12)
				require.InDelta(t, 128, shade(want.greyX, want.greyY), 12)
			})
		}
	}
}

// A picture is printed no finer than paper can use, whole, and with nothing else
// that its file carried.
func TestPicturesAreMadeAnew(t *testing.T) {
	big := asJPEG(t, noise(4001, 1234))
	out, err := paper.Develop(append(big, "taken at 53.1 N 8.2 E"...))
	require.NoError(t, err)
	require.NotContains(t, string(out), "53.1 N")
	got, err := jpeg.Decode(bytes.NewReader(out))
	require.NoError(t, err)
	require.LessOrEqual(t, got.Bounds().Dx(), 1600)
	require.Greater(t, got.Bounds().Dx(), 1200)
	require.InDelta(t, 4001.0/1234, float64(got.Bounds().Dx())/float64(got.Bounds().Dy()), 0.02)
	r, g, _, _ := got.At(got.Bounds().Dx()-3, 3).RGBA()
	require.Greater(t, r>>8, uint32(225), "the right edge is there")
	require.Less(t, g>>8, uint32(25))
}

func TestWhatIsSeeThroughIsWhite(t *testing.T) {
	out, err := paper.Develop(asPNG(t, image.NewNRGBA(image.Rect(0, 0, 40, 40))))
	require.NoError(t, err)
	got, err := jpeg.Decode(bytes.NewReader(out))
	require.NoError(t, err)
	r, _, _, _ := got.At(20, 20).RGBA()
	require.EqualValues(t, 255, r>>8)
}

// Whatever bytes come as a picture, there is a picture or a reason.
func FuzzDevelop(f *testing.F) {
	small := noise(24, 16)
	for _, content := range [][]byte{asJPEG(f, small), asPNG(f, small), asGIF(f, small), asWebP(), bomb(f), nil} {
		f.Add(content)
	}
	f.Fuzz(func(t *testing.T, content []byte) {
		out, err := paper.Develop(content)
		require.Equal(t, err == nil, len(out) > 0)
	})
}

// Two pictures whose words take pages stand one after the other, each with its own.
func TestLongWordsPartAPair(t *testing.T) {
	pages := leaves(t, printed(t, handover.Document{Title: "T", Parts: []handover.Part{{Title: "P", Blocks: []handover.Block{
		handover.Photo{Caption: "FIRST " + long(1500)}, handover.Photo{Caption: "SECOND " + long(20)},
	}}}}))
	found := 0
	for _, p := range pages {
		for _, w := range p.Words {
			if w.Text == "FIRST" || w.Text == "SECOND" {
				found++
				require.InDelta(t, 20*mm, w.XMin, 1, w.Text)
			}
		}
	}
	require.Equal(t, 2, found)
}
