package handover_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"pairwalk/events"
	"pairwalk/projection/handover"
)

// page is a document as HTML.
func page(t *testing.T, d handover.Document) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, handover.HTML(&b, d))
	return b.String()
}

// nodes parses a page as a browser does, and lists its elements.
func nodes(t *testing.T, page string) []*html.Node {
	t.Helper()
	root, err := html.Parse(strings.NewReader(page))
	require.NoError(t, err)
	var out []*html.Node
	for n := range root.Descendants() {
		if n.Type == html.ElementNode {
			out = append(out, n)
		}
	}
	return out
}

func attr(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

func inside(n *html.Node) string {
	var b strings.Builder
	for x := range n.Descendants() {
		if x.Type == html.TextNode {
			b.WriteString(x.Data)
		}
	}
	return b.String()
}

// hostile is a job whose people typed whatever could break a page.
func hostile(t *testing.T) (*job, []string) {
	j := newJob(t)
	words := []string{
		`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, "\u202eturned\u202c", `</table></section>`, "']]><!--", "🪔 lamp", "\u05d3\u05e0\u05d4 <b>",
		"javascript:alert(1)", strings.Repeat("long", 100),
	}
	for i, w := range words {
		name := w
		if len(name) > 60 {
			name = name[:60]
		}
		j.say(events.HubListed{Hub: events.HubID(name), Note: w}, events.RoomListed{Room: events.RoomID(name), Floor: events.FloorID(name), Note: w})
		row := lamp(events.Tag("d"+name), events.RoomID(name), int64(i)*1_000, 0, events.CircuitID(name))
		row.Hub, row.Floor, row.Maker, row.Model, row.Note = events.HubID(name), events.FloorID(name), w, w, w
		j.say(row, events.DevicePaired{Device: row.Device, Hub: row.Hub, Serial: events.Serial(name)})
		j.say(events.FaultFound{Of: events.Device(row.Device), Symptom: w, Severity: events.Minor, Owner: name, Trade: name, Action: w})
		j.say(events.PhotoAdded{Of: events.Device(row.Device), Caption: w, Picture: events.Picture{SHA256: sumOf(picture()), Bytes: 1, Type: "image/svg+xml"}})
		j.say(events.NoteAdded{Of: events.Site(), Text: w}, events.WorkSigned{Of: events.Site(), Scope: w, Signer: name, As: name})
		j.say(events.CheckDone{Of: events.Room(events.RoomID(name)), Test: events.TestManual, Reading: name, Instrument: name, Limit: name, Note: w})
	}
	return j, words
}

func TestWhatPeopleTypeIsTextAndNothingElse(t *testing.T) {
	j, words := hostile(t)
	whole := page(t, j.document(picture()))
	known := map[string]bool{}
	for _, tag := range strings.Fields("html head meta title style body header h1 span dl div dt dd nav h2 h3 ol li a main section p strong table caption colgroup col thead tbody tr th td figure figcaption small img svg g polyline path text ul bdi footer") {
		known[tag] = true
	}
	tables := 0
	for _, n := range nodes(t, whole) {
		require.True(t, known[n.Data], "an element of ours: %s", n.Data)
		if n.Data == "table" {
			tables++
		}
		for _, a := range n.Attr {
			require.False(t, strings.HasPrefix(a.Key, "on"), "%s=%s", a.Key, a.Val)
			if a.Key == "src" || a.Key == "href" {
				require.True(t, strings.HasPrefix(a.Val, "#") || strings.HasPrefix(a.Val, "data:image/png;base64,"), "%s leads outside: %s", a.Key, a.Val)
			}
		}
	}
	wanted := 0
	for _, p := range j.document().Parts {
		for _, b := range p.Blocks {
			if _, ok := b.(handover.Table); ok {
				wanted++
			}
		}
	}
	require.Equal(t, wanted, tables, "nothing closed a table early")
	root, err := html.Parse(strings.NewReader(whole))
	require.NoError(t, err)
	shown := inside(root)
	for _, w := range words {
		w = strings.NewReplacer("\u202e", "\ufffd", "\u202c", "\ufffd").Replace(w)
		require.Contains(t, shown, w, "it is shown whole")
	}
	require.NotContains(t, whole, "\u202e")
	require.Contains(t, whole, "<bdi>\u05d3\u05e0\u05d4 &lt;b&gt;</bdi>")
	require.NotContains(t, whole, "\u2068")
	require.NotContains(t, whole, "image/svg+xml;base64", "a picture that may hold a program is not shown")
}

func TestThePageIsWhole(t *testing.T) {
	for name, j := range map[string]*job{"small": small(t), "bare": bare(t)} {
		d := j.document(picture())
		whole := page(t, d)
		require.Equal(t, whole, page(t, d), "the same bytes again")
		ids, links, labels := map[string]int{}, []string{}, []string{}
		last, scopes := 0, 0
		for _, n := range nodes(t, whole) {
			if id := attr(n, "id"); id != "" {
				ids[id]++
			}
			if n.Data == "a" {
				links = append(links, strings.TrimPrefix(attr(n, "href"), "#"))
			}
			if l := attr(n, "aria-labelledby"); l != "" {
				labels = append(labels, l)
			}
			if len(n.Data) == 2 && n.Data[0] == 'h' && n.Data[1] >= '1' && n.Data[1] <= '3' {
				level := int(n.Data[1] - '0')
				require.LessOrEqual(t, level, last+1, "no level of heading is passed over")
				last = level
			}
			if n.Data == "th" {
				require.NotEmpty(t, attr(n, "scope"))
				scopes++
			}
			if n.Data == "table" {
				require.Equal(t, "caption", firstElement(n).Data)
			}
			require.NotEqual(t, "script", n.Data)
		}
		require.Positive(t, scopes)
		for id, n := range ids {
			require.Equal(t, 1, n, "%s: id %s", name, id)
		}
		require.Len(t, links, len(d.Parts))
		for _, id := range append(links, labels...) {
			require.Contains(t, ids, id)
		}
		require.Contains(t, whole, `<html lang="en">`)
		require.NotContains(t, whole, "ZgotmplZ", "nothing was taken for dangerous")
	}
}

func firstElement(n *html.Node) *html.Node {
	for x := range n.ChildNodes() {
		if x.Type == html.ElementNode {
			return x
		}
	}
	return nil
}
