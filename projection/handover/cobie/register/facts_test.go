package register_test

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover/cobie/register"
	"pairwalk/testdata/handed"
)

// vocabulary is every word of our own and of COBie's that a cell may hold.
var vocabulary = []string{
	"n/a", "pairwalk", "meters", "month", "Fixed", "Floor", "Component", "Space", "System", "Facility", "As Built", "site",
	"hub", "circuit", "emergency", "yes", "level", "fault", "trade:", "owner:", "warranty of", "months", "warranty not told",
	"Radio", "Power", "Emergency", "State", "Mesh channel", "Star channel", "Program", "device of unknown kind",
	"practice site: everything in it is made up",
	"a hub and what is paired to it, or else listed on it",
	"what a supply circuit feeds, as listed and as seen to go dark with it",
}

// facts are the texts that the log of a site holds.
func facts(h *projection.History, site *projection.Site) map[string]bool {
	known := map[string]bool{}
	add := func(texts ...string) {
		for _, s := range texts {
			known[s] = true
		}
	}
	add(vocabulary...)
	add(site.Name, string(site.ID))
	for _, e := range h.Ordered() {
		add(e.Ref().String(), string(e.Kind()), e.ID.String())
	}
	for _, told := range h.Told(projection.Moment{}) {
		at := told.At.Time().In(site.Location())
		add(at.Format("2006-01-02T15:04:05"), at.Format(time.DateOnly))
		if p, ok := told.Event.Payload.(events.DeviceFitted); ok {
			add(p.Label)
		}
	}
	for _, m := range site.Members {
		add(m.Name, m.Contact, string(m.Role))
	}
	for _, f := range site.Floors {
		add(string(f.Floor), strconv.Itoa(f.Level), strconv.FormatFloat(float64(f.Elevation.Value)/1000, 'f', -1, 64))
	}
	for _, r := range site.Rooms {
		add(string(r.Room), string(r.Floor), r.Geometry, r.Note)
	}
	for _, x := range site.Hubs {
		add(string(x.Hub), string(x.Room), string(x.Floor), string(x.Circuit), x.Note, string(x.Program))
		for _, ch := range x.Channels {
			add(strconv.Itoa(ch.Number))
		}
	}
	for _, d := range site.Devices {
		add(string(d.Device), string(d.Is), string(d.Radio), string(d.Power), string(d.Hub), string(d.Circuit), string(d.State))
		add(string(d.Room), string(d.Floor), string(d.Serial), d.Maker, d.Model, d.Type, d.WarrantyStart, strconv.Itoa(d.WarrantyMonths), d.Note)
	}
	for _, c := range site.Circuits {
		add(string(c.ID))
	}
	for _, f := range site.Faults {
		add(f.Symptom, f.Trade, f.Owner, f.Action, string(f.Severity))
	}
	delete(known, "")
	return known
}

// madeOf says whether a text is facts one after another, parted by blanks, commas or
// semicolons.
func madeOf(text string, known map[string]bool) bool {
	if known[text] {
		return true
	}
	reached := make([]bool, len(text)+1)
	reached[0] = true
	for i := range text {
		if !reached[i] {
			continue
		}
		if rest := strings.TrimLeft(text[i:], " ,;"); i > 0 && len(rest) < len(text)-i {
			reached[len(text)-len(rest)] = true
		}
		for j := i + 1; j <= min(len(text), i+600); j++ {
			if known[text[i:j]] {
				reached[j] = true
			}
		}
	}
	return reached[len(text)]
}

// Nothing is invented: every cell is made of what the log holds, and of words that
// are listed above.
func TestNoCellIsInvented(t *testing.T) {
	for name, h := range map[string]*projection.History{"works": works(), "bare": handed.Bare()} {
		t.Run(name, func(t *testing.T) {
			site := h.At(projection.Moment{})
			known := facts(h, site)
			n := 0
			for _, s := range book(h).Sheets {
				for _, row := range s.Rows {
					for i, text := range row {
						require.True(t, madeOf(text, known), "%s.%s of %s says %q", s.Name, s.Columns[i].Name, row[0], text)
						n++
					}
				}
			}
			require.Greater(t, n, 500)
			require.False(t, madeOf("SN-not-there", known))
			require.False(t, madeOf("driver; hub H1; urgent", known))
		})
	}
}

// Each device's row says what the site says of that device and of no other.
func TestComponentsSayWhatTheSiteSays(t *testing.T) {
	h := works()
	site := h.At(projection.Moment{})
	s := sheet(t, book(h), "Component")
	rows := map[string][]string{}
	for _, row := range s.Rows {
		rows[row[s.At("TagNumber")]] = row
	}
	is := func(text string) string {
		if text == "" {
			return register.Unknown
		}
		return text
	}
	scanned := 0
	for _, d := range site.Devices {
		row := rows[string(d.Device)]
		require.NotNil(t, row, d.Device)
		require.Equal(t, is(string(d.Serial)), row[s.At("SerialNumber")])
		require.Equal(t, is(string(d.Room)), row[s.At("Space")])
		require.Equal(t, is(d.WarrantyStart), row[s.At("WarrantyStartDate")])
		require.Equal(t, d.Row.Ref().String(), row[s.At("ExtIdentifier")])
		require.Contains(t, row[s.At("TypeName")], string(d.Is))
		require.Equal(t, d.Emergency, strings.Contains(row[s.At("Description")], "emergency"))
		require.Equal(t, register.Unknown, row[s.At("AssetIdentifier")])
		require.Equal(t, d.Paired != nil || d.Fitted != nil, row[s.At("InstallationDate")] != register.Unknown)
		if row[s.At("BarCode")] != register.Unknown {
			scanned++
			require.Equal(t, "(01)05412345000013(21)"+string(d.Serial), row[s.At("BarCode")])
		}
	}
	require.Greater(t, scanned, 50)
}
