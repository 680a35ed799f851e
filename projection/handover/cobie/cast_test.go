package cobie_test

import (
	"bytes"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover"
	"pairwalk/projection/handover/cobie"
	"pairwalk/projection/handover/cobie/register"
	"pairwalk/projection/tale"
	"pairwalk/testdata/handed"
)

// works is the job of the works, told once: nothing here changes it.
var works = sync.OnceValue(handed.Works)

func source(h *projection.History) handover.Source {
	return handover.NewSource(h, projection.Moment{}, nil)
}

// worksBook is the workbook of the works, written once.
var worksBook = sync.OnceValue(func() []byte {
	var out bytes.Buffer
	if _, err := cobie.Write(&out, source(works())); err != nil {
		panic(err)
	}
	return out.Bytes()
})

// workbook is the file that is written of a history.
func workbook(t testing.TB, h *projection.History) []byte {
	t.Helper()
	var out bytes.Buffer
	_, err := cobie.Write(&out, source(h))
	require.NoError(t, err)
	return out.Bytes()
}

func open(t testing.TB, file []byte) *excelize.File {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(file))
	require.NoError(t, err)
	t.Cleanup(func() { _ = f.Close() })
	return f
}

func book(h *projection.History) register.Book {
	return register.Of(h, projection.Moment{}, h.At(projection.Moment{}))
}

// hostile is a site whose people write what a spreadsheet might run, and what XML
// can't hold.
func hostile() *projection.History {
	s := tale.New()
	s.Lead.Say("09:00", events.HubListed{Hub: "H1"})
	for i, text := range hostileTexts {
		d := events.DeviceListed{Device: events.Tag(text), Is: events.Driver, Hub: "H1", Radio: events.Mesh, Power: events.Mains, Maker: text, Note: text + "\nbelow\tit"}
		if events.CheckName(text) != nil {
			d.Device = events.Tag(string(rune('a'+i)) + "-1")
		}
		s.Lead.Say("09:00", d)
		s.Lead.Say("09:05", events.DeviceFitted{Device: d.Device, Serial: events.Serial("=" + string(d.Device)), Source: events.Typed})
	}
	return handed.History(s)
}

var hostileTexts = []string{
	"=1+1", "=HYPERLINK(\"http://x.example\",\"a\")", "+41 1", "-2", "@SUM(A1)", "'quoted", "\"", "💡🔦", "ä\u0301 é",
	"\u202eright to left", "a\ufffeb", "_x0041_", "_x0041_x0042_", "_x000D_x", "<b>&amp;</b>", "1e5", "007", "2-10", "true", " blank ahead", "\ufeffmark",
}
