package web_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/testdata"
)

// imported is what came of a sheet, as the page reads it.
type imported struct {
	V                                                          int
	Kind, Table                                                string
	DryRun                                                     bool `json:"dry_run"`
	Taken, Adds, Amends, Renames, Strikes, Entries, Rows, Same int
	Lines, Problems, Notes, Flagged                            []string
}

func TestASheetIsLookedAtAndThenTaken(t *testing.T) {
	d := open(t, journal.Memory(), "UTC")
	x := d.serve()
	before := len(d.entries())
	dry := told[imported](t, x.post("/api/import?dry=1", string(testdata.WorksSchedule)))
	require.True(t, dry.DryRun)
	require.Equal(t, "schedule", dry.Kind)
	require.Equal(t, []int{484, 544, 0}, []int{dry.Rows, dry.Adds, dry.Taken}, "480 devices and 4 hubs, as testdata says, and 60 rooms")
	require.Len(t, d.entries(), before, "a look takes nothing")
	require.Empty(t, dry.Problems)

	taken := told[imported](t, x.post("/api/import", string(testdata.WorksSchedule)))
	require.False(t, taken.DryRun)
	require.Len(t, d.entries(), before+taken.Taken)
	require.GreaterOrEqual(t, taken.Taken, 484)
	require.Len(t, d.Now().Devices, 480)

	again := told[imported](t, x.post("/api/import", string(testdata.WorksSchedule)))
	require.Zero(t, again.Taken)
	require.Equal(t, 544, again.Same)

	floors := told[imported](t, x.post("/api/import", string(testdata.WorksFloors)))
	require.Equal(t, 6, floors.Rows)
	require.NotEqual(t, "schedule", floors.Kind)
}

func TestRowsThatCannotBeTaken(t *testing.T) {
	x := small(t).serve()
	before := len(x.member.entries())
	sheet := "tag,kind,hub,radio\n5-001,dimmer,H1,mesh\n5-002,chandelier,H1,mesh\n5-003,dimmer,H1,mesh\n"
	dry := told[imported](t, x.post("/api/import?dry=1", sheet))
	require.Len(t, dry.Problems, 1)
	require.Contains(t, dry.Problems[0], "chandelier")
	require.Contains(t, refused(t, http.StatusUnprocessableEntity, x.post("/api/import", sheet)), "none was")
	require.Len(t, x.member.entries(), before)
	some := told[imported](t, x.post("/api/import?partial=1", sheet))
	require.Equal(t, 2, some.Taken)
	require.Len(t, x.member.entries(), before+2)
	for name, c := range map[string]struct {
		query, sheet string
		code         int
	}{
		"nothing":           {"", "", http.StatusUnprocessableEntity},
		"no header we know": {"", "colour,shape\nred,round\n", http.StatusUnprocessableEntity},
		"binary":            {"", "\x00\x01\x02\xff", http.StatusUnprocessableEntity},
		"a broken workbook": {"", "PK\x03\x04 and no more", http.StatusUnprocessableEntity},
		"a table of text":   {"?table=Devices", sheet, http.StatusUnprocessableEntity},
		"no day":            {"?day=tomorrow", sheet, http.StatusBadRequest},
	} {
		t.Run(name, func(t *testing.T) {
			refused(t, c.code, x.post("/api/import"+c.query, c.sheet))
			require.Len(t, x.member.entries(), before+2)
		})
	}
}

func TestWhatASheetTakesAwayIsAskedFor(t *testing.T) {
	d := open(t, journal.Memory(), "UTC")
	x := d.serve()
	told[imported](t, x.post("/api/import", "tag,kind,hub,radio\nH1,hub,,\n1-1,dimmer,H1,mesh\n1-2,dimmer,H1,mesh\n"))
	less := "tag,kind,hub,radio\nH1,hub,,\n1-1,dimmer,H1,mesh\n"
	got := told[imported](t, x.post("/api/import", less))
	require.Equal(t, []int{1, 0}, []int{got.Strikes, got.Taken})
	require.NotEmpty(t, got.Lines)
	got = told[imported](t, x.post("/api/import?strikes=1", less))
	require.Equal(t, 1, got.Taken)
	gone, _ := d.Now().Device("1-2")
	require.NotNil(t, gone.Struck)
}

func TestAWorkbookIsTakenByItsTable(t *testing.T) {
	d := open(t, journal.Memory(), "UTC")
	x := d.serve()
	f := excelize.NewFile()
	require.NoError(t, f.SetSheetName("Sheet1", "Devices"))
	for i, row := range [][]any{{"tag", "kind", "hub", "radio"}, {"H1", "hub", "", ""}, {"1-1", "dimmer", "H1", "mesh"}} {
		require.NoError(t, f.SetSheetRow("Devices", "A"+string(rune('1'+i)), &row))
	}
	_, err := f.NewSheet("Floors")
	require.NoError(t, err)
	for i, row := range [][]any{{"floor", "level"}, {"1", 1}} {
		require.NoError(t, f.SetSheetRow("Floors", "A"+string(rune('1'+i)), &row))
	}
	book, err := f.WriteToBuffer()
	require.NoError(t, err)
	refused(t, http.StatusUnprocessableEntity, x.post("/api/import?table=Roofs", book.String()))
	got := told[imported](t, x.post("/api/import?table=Devices", book.String()))
	require.Equal(t, "Devices", got.Table)
	require.Equal(t, 2, got.Adds)
	got = told[imported](t, x.post("/api/import?table=Floors&dry=1", book.String()))
	require.Equal(t, "Floors", got.Table)
	require.Len(t, d.Now().Devices, 1)
}

func TestAPaperSheetIsTypedIn(t *testing.T) {
	d := works(t)
	x := d.serve()
	d.pass(10 * time.Hour) // the next evening, Vienna time
	rows, err := csv.NewReader(bytes.NewReader(testdata.WorksFieldSheet)).ReadAll()
	require.NoError(t, err)
	type row struct {
		Tag    string `json:"tag"`
		What   string `json:"what"`
		When   string `json:"when"`
		Serial string `json:"serial"`
		By     string `json:"by"`
		Note   string `json:"note"`
	}
	doc := struct {
		Rows []row  `json:"rows"`
		Day  string `json:"day"`
		Dry  bool   `json:"dry"`
	}{Day: "2026-03-02", Dry: true}
	for _, r := range rows[1:] {
		doc.Rows = append(doc.Rows, row{r[0], r[2], r[3], r[1], r[4], r[5]})
	}
	typed := func() string {
		b, err := json.Marshal(doc)
		require.NoError(t, err)
		return string(b)
	}
	before := len(d.entries())
	dry := told[imported](t, x.post("/api/fieldsheet", typed()))
	require.Equal(t, []int{13, 0, 0}, []int{dry.Rows, dry.Taken, len(dry.Problems)}, "12 lines, one of them with a note to a pairing")
	require.Len(t, d.entries(), before)
	require.Len(t, dry.Lines, 13)
	require.Equal(t, "row 2: fitted B1-101: serial HL12180954, 2 Mar 09:40, by Ilse", dry.Lines[0])
	doc.Dry = false
	require.Equal(t, 13, told[imported](t, x.post("/api/fieldsheet", typed())).Taken)
	paired, _ := d.Now().Device("B1-101")
	require.Equal(t, projection.Settled, paired.State, "long ago")
	require.Equal(t, "Ilse", d.Now().DoneBy(paired.Paired.Event))
	require.Equal(t, "2026-03-02 09:42", paired.Paired.At.Time().In(d.Now().Location()).Format("2006-01-02 15:04"))

	doc.Rows = append(doc.Rows[:0], row{Tag: "B1-109", What: "paired", When: "11:00", Serial: `a "quoted", serial`, By: "Ilse", Note: "=1+2\nsecond line"}, row{Tag: "B1-110", What: "danced", When: "11:05"})
	refused(t, http.StatusUnprocessableEntity, x.post("/api/fieldsheet", typed()))
	doc.Day = "today"
	refused(t, http.StatusBadRequest, x.post("/api/fieldsheet", typed()))
	refused(t, http.StatusBadRequest, x.post("/api/fieldsheet", `{"rows":[{"tag":"B1-109","colour":"red"}]}`))
	require.Len(t, d.entries(), before+13)
}

func TestRecordsGoOutAndComeHome(t *testing.T) {
	d := small(t)
	x := d.serve()
	refused(t, http.StatusUnprocessableEntity, x.post("/api/records", ""))
	refused(t, http.StatusUnprocessableEntity, x.post("/api/merged", `{"export":"","hub":""}`))
	d.log(events.HubReady{Hub: "H2"}, events.DevicePaired{Device: "2-114", Hub: "H2", Serial: "S1"}, events.DevicePaired{Device: "2-115", Hub: "H2", Serial: "S2"})
	before := len(d.entries())
	out := x.post("/api/records", "")
	require.Equal(t, http.StatusOK, out.code)
	require.Equal(t, "text/csv; charset=utf-8", out.header.Get("Content-Type"))
	require.Equal(t, "2", out.header.Get("X-Pairwalk-Rows"))
	export := out.header.Get("X-Pairwalk-Export")
	require.Len(t, d.entries(), before+1, "that it went out is logged")
	require.Len(t, d.Now().Exports, 1)
	require.Equal(t, export, d.Now().Exports[0].ID)
	rows, err := csv.NewReader(bytes.NewReader(out.body)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 3)

	type homecoming struct {
		Export      string
		Same        int
		Differences []struct {
			Row              int
			Tag, Kind, Words string
		}
	}
	home := x.post("/api/homecoming", string(out.body))
	same := told[homecoming](t, home)
	require.Equal(t, homecoming{export, 2, same.Differences}, same)
	require.Contains(t, string(home.body), `"differences":[]`, "a list is never null")
	differs := told[homecoming](t, x.post("/api/homecoming", strings.Replace(string(out.body), "S1", "S9", 1)))
	require.Equal(t, 1, differs.Same)
	require.Equal(t, []string{"2-114", "serial"}, []string{differs.Differences[0].Tag, differs.Differences[0].Kind})
	refused(t, http.StatusUnprocessableEntity, x.post("/api/homecoming", "a,b\n1,2\n"))
	require.Len(t, d.entries(), before+1, "looking records nothing")

	book := x.post("/api/records?as=xlsx", "")
	require.Equal(t, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", book.header.Get("Content-Type"))
	require.Len(t, d.Now().Exports, 2)
	home = x.post("/api/homecoming", string(book.body))
	require.Equal(t, homecoming{d.Now().Exports[1].ID, 2, same.Differences}, told[homecoming](t, home))
	before++

	refused(t, http.StatusNotFound, x.post("/api/merged", `{"export":"XNOTHING","hub":""}`))
	refused(t, http.StatusNotFound, x.post("/api/merged", `{"export":"`+export+`","hub":"H77"}`))
	require.Len(t, d.entries(), before+1)
	got := told[logged](t, x.post("/api/merged", `{"export":"`+export+`","hub":"H2"}`))
	require.Equal(t, "records.merged", got.Entries[0].Kind)
	require.JSONEq(t, `{"export":"`+export+`","hub":"H2"}`, string(got.Entries[0].Body))
}

func TestASettingIsChanged(t *testing.T) {
	d := small(t)
	x := d.serve()
	got := told[logged](t, x.post("/api/set", `{"key":"settle_minutes","value":"15"}`))
	require.Equal(t, "settings.changed", got.Entries[0].Kind)
	require.Equal(t, "15", d.Now().Settings.Value("settle_minutes"))
	before := len(d.entries())
	for _, body := range []string{`{"key":"colour","value":"red"}`, `{"key":"settle_minutes","value":"soon"}`, `{"key":"settle_minutes","value":"-1"}`} {
		refused(t, http.StatusUnprocessableEntity, x.post("/api/set", body))
	}
	refused(t, http.StatusBadRequest, x.post("/api/set", `{"key":"settle_minutes","value":15}`))
	refused(t, http.StatusNotFound, x.post("/api/set", `{"key":"clock_reference","value":"nobody"}`))
	require.Len(t, d.entries(), before)
	ben := d.joins("ben", events.Tech, 11)
	ben.takes(d.bundle())
	refused(t, http.StatusForbidden, ben.serve().post("/api/set", `{"key":"settle_minutes","value":"15"}`))
}

// drawn is a small picture.
func drawn() image.Image {
	m := image.NewPaletted(image.Rect(0, 0, 4, 4), color.Palette{color.Black, color.White})
	m.Set(1, 1, color.White)
	return m
}

func pictures(t *testing.T) map[string][]byte {
	var p, j, g bytes.Buffer
	require.NoError(t, png.Encode(&p, drawn()))
	require.NoError(t, jpeg.Encode(&j, drawn(), nil))
	require.NoError(t, gif.Encode(&g, drawn(), nil))
	return map[string][]byte{"image/png": p.Bytes(), "image/jpeg": j.Bytes(), "image/gif": g.Bytes()}
}

func TestAPictureIsKeptUnderItsContent(t *testing.T) {
	d := small(t)
	x := d.serve()
	for kind, b := range pictures(t) {
		sum := sha256.Sum256(b)
		name := hex.EncodeToString(sum[:])
		refused(t, http.StatusNotFound, x.get("/api/picture/"+name))
		got := told[logged](t, x.post("/api/picture?subject=2-114&caption="+url.QueryEscape("label <b>"), string(b)))
		want, err := events.EncodeBody(events.PhotoAdded{Of: events.Device("2-114"), Picture: events.Picture{SHA256: name, Bytes: int64(len(b)), Type: kind}, Caption: "label <b>"})
		require.NoError(t, err)
		require.Equal(t, string(want), string(got.Entries[0].Body))
		back := x.get("/api/picture/" + name)
		require.Equal(t, http.StatusOK, back.code)
		require.Equal(t, b, back.body)
		require.Equal(t, kind, back.header.Get("Content-Type"))
		require.Equal(t, "no-store", back.header.Get("Cache-Control"))
	}
	before := len(d.entries())
	files := d.fs.(*journal.MemFS).Files()
	for name, b := range map[string]string{
		"SVG":               `<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>`,
		"SVG with a prolog": `<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>`,
		"HTML":              `<!doctype html><script>alert(1)</script>`,
		"HTML, later":       "\n\n   <html><img src=x onerror=alert(1)>",
		"script":            `alert(1)`,
		"a PDF":             "%PDF-1.7\n",
		"nothing":           "",
		"half a signature":  "\x89PN",
	} {
		t.Run(name, func(t *testing.T) {
			for _, kind := range []string{"image/png", "image/svg+xml"} {
				refused(t, http.StatusBadRequest, x.post("/api/picture?subject=2-114", b, func(r *http.Request) { r.Header.Set("Content-Type", kind) }))
				refused(t, http.StatusBadRequest, x.post("/api/drawing?floor=2&corner_x=0&corner_y=0&pixel_um=1&turn_mdeg=0", b))
			}
		})
	}
	good := string(pictures(t)["image/png"])
	for _, subject := range []string{"", "nothing", "device:9-999", "hub:H77", "member:nobody"} {
		refused(t, http.StatusNotFound, x.post("/api/picture?subject="+subject, good+subject))
	}
	refused(t, http.StatusUnprocessableEntity, x.post("/api/picture?subject=2-114&caption="+strings.Repeat("x", 500), good))
	require.Len(t, d.entries(), before)
	require.Equal(t, files, d.fs.(*journal.MemFS).Files(), "and nothing was kept")
}

func TestOnlyPicturesAreServedAsPictures(t *testing.T) {
	d := small(t)
	x := d.serve()
	for _, name := range []string{
		"..%2f..%2fkeys.json", "%2e%2e%2fkeys.json", "..%5ckeys.json", "keys.json", "%00", noPicture[1:], noPicture + "0", strings.ToUpper(strings.Repeat("ab", 32)),
		strings.Repeat("g", 64), noPicture + "%0a", noPicture + "%2f", "%2f" + noPicture[1:],
	} {
		a := x.get("/api/picture/" + name)
		require.Equal(t, http.StatusNotFound, a.code, name)
		require.NotContains(t, string(a.body), "secret")
	}
	evil := []byte("<!doctype html><script>alert(1)</script>")
	sum := sha256.Sum256(evil)
	name := hex.EncodeToString(sum[:])
	require.NoError(t, d.KeepPicture(events.Picture{SHA256: name}, evil)) // as another tool may have
	refused(t, http.StatusBadRequest, x.get("/api/picture/"+name))
}

func TestADrawingIsLaidUnderAFloor(t *testing.T) {
	d := small(t)
	x := d.serve()
	b := pictures(t)["image/png"]
	got := told[logged](t, x.post("/api/drawing?floor=2&corner_x=-500&corner_y=21000&pixel_um=12500&turn_mdeg=-90000", string(b)))
	sum := sha256.Sum256(b)
	want, err := events.EncodeBody(events.DrawingPlaced{
		Floor: "2", Picture: events.Picture{SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(b)), Type: "image/png"},
		Corner: events.XY{X: -500, Y: 21000}, Pixel: 12500, Turn: -90000,
	})
	require.NoError(t, err)
	require.Equal(t, string(want), string(got.Entries[0].Body))
	before := len(d.entries())
	for _, query := range []string{
		"floor=2&corner_x=0&corner_y=0&pixel_um=1", "floor=2&corner_x=0.5&corner_y=0&pixel_um=1&turn_mdeg=0", "floor=2&corner_x=&corner_y=0&pixel_um=1&turn_mdeg=0",
		"floor=2&corner_x=0&corner_y=0&pixel_um=99999999999999999999&turn_mdeg=0", "floor=2&corner_x=0&corner_y=0&pixel_um=1e3&turn_mdeg=0",
	} {
		refused(t, http.StatusBadRequest, x.post("/api/drawing?"+query, string(b)))
	}
	for _, query := range []string{"floor=&corner_x=0&corner_y=0&pixel_um=1&turn_mdeg=0", "floor=2&corner_x=0&corner_y=0&pixel_um=0&turn_mdeg=0"} {
		refused(t, http.StatusUnprocessableEntity, x.post("/api/drawing?"+query, string(b)))
	}
	require.Len(t, d.entries(), before)
}

// An install code with its check, 16 bytes (value from a secondary text), and a
// Matter setup code (value from a secondary text, and computed).
const (
	installCode = "83FED3407A939723A5C639B26916D505C3B5"
	matterCode  = "MT:Y.K9042C00KA0648G00"
)

func TestALabelIsReadAndItsSecretGoesNoFurther(t *testing.T) {
	d := small(t)
	x := d.serve()
	before, files := len(d.entries()), len(d.fs.(*journal.MemFS).Files())
	type label struct {
		V                         int
		Form, Serial, GTIN, EUI64 string
		Secret                    bool
		Text                      string
		Notes                     []string
	}
	ask := func(text string) answer {
		b, err := json.Marshal(map[string]string{"text": text})
		require.NoError(t, err)
		return x.post("/api/label", string(b))
	}
	got := told[label](t, ask("00-11-22-FF-FE-33-44-55"))
	require.Equal(t, "eui64", got.Form)
	require.False(t, got.Secret)
	require.NotEmpty(t, got.Serial)
	for _, text := range []string{
		installCode, strings.ToLower(installCode), "install " + installCode, installCode + " 00-11-22-FF-FE-33-44-55", "Z:0011223344556677$I:" + installCode,
		installCode[:35], installCode[:34] + "00", matterCode, matterCode + " 00-11-22-FF-FE-33-44-55", "34970112332",
	} {
		a := ask(text)
		body := strings.ToUpper(string(a.body))
		for _, secret := range []string{installCode, installCode[:32], installCode[:16], installCode[16:32], matterCode, "Y.K9042C00KA0648G00", "34970112332"} {
			require.NotContains(t, body, secret, text)
		}
	}
	a := told[label](t, ask(installCode))
	require.True(t, a.Secret)
	require.Empty(t, a.Serial+a.Text+a.EUI64)
	require.NotNil(t, a.Notes)
	refused(t, http.StatusBadRequest, ask(""))
	wrong := refused(t, http.StatusBadRequest, x.post("/api/label", `{"text":`+installCode+`}`))
	require.NotContains(t, wrong, installCode)
	require.Len(t, d.entries(), before)
	require.Len(t, d.fs.(*journal.MemFS).Files(), files)
}
