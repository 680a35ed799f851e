package paper_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/handover"
)

// closing is what stands below every page of a pack.
const closing = "Local codes and licensed practice govern. This log is a record, not a permit to work."

// hostile are texts that a page must show and not obey.
var hostile = [][2]string{
	{"Latin", "Grüße, naïve façade, Łódź, Đorđe, ß, ŒUVRE, İzmir, tiếng Việt"},
	{"Greek", "Φωτισμός αίθουσας Β, ὕδωρ"},
	{"Cyrillic", "Освещение зала Б, Її, Ґанок"},
	{"Signs", "→ ≤ ± Ω µ ½ № § ° ✓ ▲ — “quoted” …"},
	{"Emoji", "lamp 💡 and family 👩‍👩‍👧"},
	{"Chinese", "会议室 A"},
	{"Korean", "회의실 한"},
	{"Hebrew", "חדר"},
	{"Turned", "abc\u202Edcba\u202C and \u2066inner\u2069 and \u200Fmark"},
	{"Isolated", "by \u2068דנה\u2069 and \u2068Dana\u2069"},
	{"Combining", "e\u0301 A\u030A x\u0302 Z\u0300\u0301\u0302\u0303\u0304\u0305"},
	{"Mark alone", "\u0301 and \u0308"},
	{"Controls", "bell \a null \x00 escape \x1b[31m tab\tend"},
	{"No UTF-8", "caf\xe9 and \xff\xfe."},
	{"Unseen", "zero\u200Bwidth, soft\u00ADhyphen, \uFEFFbom, \u3164filler, heart \u2764\uFE0F"},
	{"For printers", `\) Tj ET (more {nb} %PDF-1.3 endobj stream <</Type /Page>>`},
	{"Long word", strings.Repeat("0123456789abcdef", 16)},
	{"Lines", "first\nsecond\r\nthird"},
}

// noise is a picture of which no two pixels next to each other are alike.
func noise(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.SetRGBA(x, y, color.RGBA{uint8(x * 255 / w), uint8(y * 255 / h), uint8((x ^ y) * 3), 255})
		}
	}
	return img
}

func asJPEG(t testing.TB, img image.Image) []byte {
	var buf bytes.Buffer
	require.NoError(t, jpeg.Encode(&buf, img, nil))
	return buf.Bytes()
}

func asPNG(t testing.TB, img image.Image) []byte {
	var buf bytes.Buffer
	require.NoError(t, png.Encode(&buf, img))
	return buf.Bytes()
}

func asGIF(t testing.TB, img image.Image) []byte {
	var buf bytes.Buffer
	require.NoError(t, gif.Encode(&buf, img, nil))
	return buf.Bytes()
}

// asWebP is the smallest picture of the form: one pixel, lossless.
func asWebP() []byte {
	chunk := []byte{0x2F, 0, 0, 0, 0, 0x07, 0x10, 0x11, 0x11, 0x88, 0x88, 0xFE, 0x07, 0}
	out := append([]byte("RIFF\x00\x00\x00\x00WEBPVP8L"), 0, 0, 0, 0)
	binary.LittleEndian.PutUint32(out[16:], uint32(len(chunk)))
	out = append(out, chunk...)
	binary.LittleEndian.PutUint32(out[4:], uint32(len(out)-8))
	return out
}

// bomb is a PNG of a few bytes that says it has 60,000 by 60,000 pixels.
func bomb(t testing.TB) []byte {
	out := asPNG(t, noise(8, 8))
	binary.BigEndian.PutUint32(out[16:], 60000)
	binary.BigEndian.PutUint32(out[20:], 60000)
	sum := crc(out[12:29])
	binary.BigEndian.PutUint32(out[29:], sum)
	return out
}

func sum(n int) string { return fmt.Sprintf("%064x", n*0x9E3779B9) }

// pictures is one of each form, and some that can't be shown.
func pictures(t testing.TB) []handover.Block {
	whole := asJPEG(t, noise(640, 480))
	return []handover.Block{
		handover.Photo{SHA256: sum(1), Type: "image/jpeg", Caption: "Gateway in the riser, landscape, alone.", Content: whole},
		handover.Text{Text: "Two beside each other."},
		handover.Photo{SHA256: sum(2), Type: "image/png", Caption: "Portrait.", Content: asPNG(t, noise(300, 500))},
		handover.Photo{SHA256: sum(3), Type: "image/gif", Caption: "A strip 400 by 20.", Content: asGIF(t, noise(400, 20))},
		handover.Photo{SHA256: sum(4), Type: "image/webp", Caption: "One pixel.", Content: asWebP()},
		handover.Photo{SHA256: sum(5), Type: "image/jpeg", Caption: "Was never fetched.\nSecond line of the caption."},
		handover.Photo{SHA256: sum(6), Type: "image/png", Caption: "Says that it is huge.", Content: bomb(t)},
		handover.Photo{SHA256: sum(7), Type: "image/jpeg", Caption: "Cut off in the middle.", Content: whole[:len(whole)/2]},
		handover.Photo{SHA256: sum(8), Type: "text/html", Caption: "No picture at all.", Content: []byte("<script>alert(1)</script>")},
		handover.Photo{SHA256: sum(9), Type: "image/png", Caption: "Empty.", Content: []byte{}},
	}
}

var shapes = []handover.Shape{handover.Square, handover.Circle, handover.Triangle, handover.Diamond, handover.Star, handover.Cross}

var fills = []handover.Fill{handover.Hollow, handover.Half, handover.Solid}

// floor is a plan w by h metres with n marks, walls and ways.
func floor(w, h int64, n int) handover.Drawing {
	d := handover.Drawing{Caption: fmt.Sprintf("Floor %d by %d m, %d marks", w, h, n), Max: [2]int64{w * 1000, h * 1000}}
	d.Lines = append(d.Lines, handover.Line{Style: handover.WallLine, Points: [][2]int64{{0, 0}, {w * 1000, 0}, {w * 1000, h * 1000}, {0, h * 1000}, {0, 0}}})
	for x := int64(1); x < 4; x++ {
		d.Lines = append(d.Lines, handover.Line{Style: handover.WallLine, Points: [][2]int64{{x * w * 250, 0}, {x * w * 250, h * 400}}})
	}
	columns := int(math.Ceil(math.Sqrt(float64(n) * float64(w) / float64(h))))
	for i := range n {
		rows := (n + columns - 1) / columns
		at := [2]int64{(int64(i%columns)*2 + 1) * w * 500 / int64(columns), (int64(i/columns)*2 + 1) * h * 500 / int64(rows)}
		d.Marks = append(d.Marks, handover.Mark{At: at, Shape: shapes[i%6], Fill: fills[i/6%3], Label: fmt.Sprintf("L%d-%03d", 1+i%3, i)})
		if i > 0 {
			style := []handover.LineStyle{handover.WayLine, handover.WayLine, handover.RawLine}[i%3]
			d.Lines = append(d.Lines, handover.Line{Style: style, Points: [][2]int64{d.Marks[i-1].At, at}})
		}
	}
	for i, s := range shapes {
		for j, f := range fills {
			d.Legend = append(d.Legend, handover.Mark{Shape: s, Fill: f, Label: fmt.Sprintf("%s, %s: meaning %d", s, f, i*3+j)})
		}
	}
	return d
}

// rows is a table of n devices.
func rows(caption string, n int) handover.Table {
	t := handover.Table{Caption: caption, None: "No devices.", Columns: []handover.Column{
		{Head: "Tag", Share: 2}, {Head: "Room", Share: 3}, {Head: "Serial", Share: 3}, {Head: "State", Share: 3}, {Head: "Hops", Share: 1, Right: true}, {Head: "Note", Share: 6},
	}}
	for i := range n {
		note := []string{"", "Ready.", "Paired, but not heard since the power went at 14:20; asked for again."}[i%3]
		t.Rows = append(t.Rows, []string{fmt.Sprintf("L2-%03d", i), fmt.Sprintf("Room 2.%02d", i/8), fmt.Sprintf("00A1-%06X", i*7919), "paired", fmt.Sprint(i % 9), note})
	}
	return t
}

func long(words int) string {
	return strings.TrimSpace(strings.Repeat("Every word of this sentence has to be found again on some page. ", (words+11)/12))
}

// broad is a table that only goes across.
func broad() handover.Table {
	t := handover.Table{Caption: "A broad table"}
	row := []string{}
	for i := range 14 {
		t.Columns = append(t.Columns, handover.Column{Head: fmt.Sprintf("Heading%d", i), Share: 1, Right: i%4 == 3})
		row = append(row, fmt.Sprintf("unbroken%05d", i*7))
	}
	for range 40 {
		t.Rows = append(t.Rows, row)
	}
	return t
}

// sample has every block, every shape and every kind of text.
func sample(t testing.TB) handover.Document {
	texts := handover.Table{Caption: "Texts in cells", Columns: []handover.Column{{Head: "What", Share: 1}, {Head: "Left", Share: 2}, {Head: "Right", Share: 2, Right: true}}}
	words := []handover.Block{handover.Heading{Text: "Texts as they are typed"}}
	for _, h := range hostile {
		texts.Rows = append(texts.Rows, []string{h[0], h[1], h[1]})
		words = append(words, handover.Text{Text: h[0] + ": " + h[1]})
	}
	tall := handover.Table{Caption: "A row taller than a page", Columns: []handover.Column{{Head: "Tag", Share: 1}, {Head: "Story", Share: 4}, {Head: "n", Share: 1, Right: true}}, Rows: [][]string{
		{"before", "short", "1"}, {"tall", long(3000), "2"}, {"after", "short", "3"},
	}}
	return handover.Document{
		Title: "Works site “Nordhafen” – handover pack", Under: "As known on 26 November 2026, 14:20, to the last entry of everybody.", Practice: true, Foot: closing,
		Facts: [][2]string{{"Site", "Nordhafen"}, {"Devices", "480"}, {"Moment", "2026-11-26 14:20"}, {"Sum of the log", sum(77)}, {"Signed", "Not signed."}},
		Parts: []handover.Part{
			{ID: "caretaker", Title: "For whoever looks after the building", Lead: "What to do when a light does not answer, and whom to ask.", Blocks: []handover.Block{
				handover.Caution{Text: "Isolate and prove dead before opening a luminaire. " + long(40)},
				handover.Caution{Text: "Work at height needs a second person."},
				handover.Heading{Text: "What is here"},
				handover.Facts{Rows: [][2]string{{"Hubs", "4"}, {"Name that is rather long and has to wrap in its column", long(60)}, {"Empty", ""}}},
				handover.Heading{Text: "How it came about"},
				handover.Text{Text: long(420)}, handover.Text{Text: long(300)}, handover.Text{Text: ""}, handover.Text{Text: long(30)},
				handover.Heading{Text: "A heading that takes a page of its own", NewPage: true},
				handover.Text{Text: long(20)},
				handover.Caution{Text: "Longer than a page. " + long(1800)},
			}},
			{ID: "devices", Title: "Devices", Blocks: []handover.Block{
				handover.Heading{Text: "All of them"}, rows("Devices of floor 2", 90),
				handover.Heading{Text: "None of them"}, rows("Devices of floor 3", 0), handover.Table{},
				handover.Heading{Text: "Across"}, broad(), handover.Text{Text: "After the broad table."}, rows("Few", 3), tall,
			}},
			{ID: "texts", Title: "Texts: \u202Eevil\u202C 💡 Größe", Lead: "Whatever somebody types is shown.", Blocks: append([]handover.Block{texts}, words...)},
			{ID: "plans", Title: "Plans", Blocks: []handover.Block{
				floor(40, 25, 60), floor(12, 30, 120), floor(90, 20, 480), floor(6, 4, 18),
				handover.Heading{Text: "Next to nothing"},
				handover.Drawing{Caption: "Nothing"},
				handover.Drawing{Caption: "One point", Marks: []handover.Mark{{At: [2]int64{5000, 5000}, Shape: handover.Star, Fill: handover.Half, Label: "only"}}},
				handover.Drawing{Caption: "On a line", Marks: []handover.Mark{{Label: "a"}, {At: [2]int64{9000, 0}, Label: "b"}}, Lines: []handover.Line{{Points: [][2]int64{{0, 0}, {9000, 0}}}, {}}},
				handover.Drawing{Caption: "As far as numbers go", Max: [2]int64{math.MaxInt64, math.MaxInt64}, Min: [2]int64{math.MinInt64, math.MinInt64}, Marks: []handover.Mark{{Label: "middle"}}},
			}},
			{ID: "photos", Title: "Photos", Blocks: pictures(t)},
			{ID: "empty", Title: "A part with nothing in it"},
		},
	}
}
