package web

import (
	"bytes"
	"net/http"
	"strconv"
	"time"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/events/intake/workbook"
	"pairwalk/syncd/member"
)

func (p *Page) set(r *http.Request, said struct {
	Key   events.SettingKey `json:"key"`
	Value string            `json:"value"`
}) (any, error) {
	return p.recordedOne(func() (events.Event, error) { return p.m.Set(r.Context(), said.Key, said.Value) })
}

// taking says how a sheet is to be taken in.
type taking struct {
	Dry     bool
	Partial bool
	Accept  intake.Accept
}

func (p *Page) importFile(w http.ResponseWriter, r *http.Request) (any, error) {
	file, err := bytesOf(w, r, mostFile)
	if err != nil {
		return nil, err
	}
	q := r.URL.Query()
	day, err := dayOf(q.Get("day"))
	if err != nil {
		return nil, err
	}
	plan, err := p.o.Sheet(p.m, file, q.Get("table"), day)
	if err != nil {
		return nil, err
	}
	return p.take(r, plan, taking{q.Get("dry") != "", q.Get("partial") != "", intake.Accept{Renames: q.Get("renames") != "", Strikes: q.Get("strikes") != ""}})
}

func dayOf(text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return day, wrongf("%q is not a date like 2026-03-02", text)
	}
	return day, nil
}

// imported is what a sheet would do or has done, and what it broke.
type imported struct {
	member.SheetAnswer
	Flagged []string `json:"flagged"`
}

func (p *Page) take(r *http.Request, plan member.Plan, how taking) (any, error) {
	before := p.m.Now()
	out := imported{SheetAnswer: plan.Answer(before), Flagged: []string{}}
	if how.Dry {
		return out, nil
	}
	evs, err := p.m.Import(r.Context(), plan, how.Accept, how.Partial)
	if err != nil {
		return nil, err
	}
	marks := p.m.Marks(before, p.m.Now(), evs)
	out.DryRun, out.Taken, out.Flagged = false, len(evs), full(marks.Flagged)
	return out, nil
}

// fieldSheet takes in the rows of a paper sheet as they were typed.
func (p *Page) fieldSheet(r *http.Request, said struct {
	Rows []struct {
		Tag    string `json:"tag"`
		What   string `json:"what"`
		When   string `json:"when"`
		Serial string `json:"serial"`
		By     string `json:"by"`
		Note   string `json:"note"`
	} `json:"rows"`
	Day     string `json:"day"`
	Dry     bool   `json:"dry"`
	Partial bool   `json:"partial"`
}) (any, error) {
	day, err := dayOf(said.Day)
	if err != nil {
		return nil, err
	}
	rows := make([][]string, len(said.Rows))
	for i, x := range said.Rows {
		rows[i] = []string{x.Tag, x.What, x.When, x.Serial, x.By, x.Note}
	}
	var sheet bytes.Buffer
	if err := intake.WriteCSV(&sheet, []string{"tag", "what", "when", "serial", "by", "note"}, rows); err != nil {
		return nil, wrong{err}
	}
	plan, err := p.m.Sheet(&sheet, day)
	if err != nil {
		return nil, err
	}
	return p.take(r, plan, taking{Dry: said.Dry, Partial: said.Partial})
}

// recordsOut writes the sheet for the office. That it was is logged once it is on
// its way.
func (p *Page) recordsOut(w http.ResponseWriter, r *http.Request) {
	var sheet bytes.Buffer
	out, err := p.m.Records()
	kind := "text/csv; charset=utf-8"
	switch {
	case err != nil:
	case r.URL.Query().Get("as") == "xlsx":
		kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
		err = workbook.Write(&sheet, out.Pairings, out.Covers)
	default:
		err = out.CSV(&sheet)
	}
	if err == nil {
		_, err = p.m.Exported(r.Context(), out)
	}
	if err != nil {
		p.fail(w, err)
		return
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("X-Pairwalk-Export", out.Export)
	w.Header().Set("X-Pairwalk-Rows", strconv.Itoa(len(out.Pairings.Rows)))
	_, _ = w.Write(sheet.Bytes())
}

func (p *Page) homecoming(w http.ResponseWriter, r *http.Request) (any, error) {
	file, err := bytesOf(w, r, mostFile)
	if err != nil {
		return nil, err
	}
	rows, err := workbook.Records(file)
	if err != nil {
		return nil, err
	}
	return p.m.RecordsBack(rows), nil
}

func (p *Page) merged(r *http.Request, said struct {
	Export string       `json:"export"`
	Hub    events.HubID `json:"hub"`
}) (any, error) {
	return p.recordedOne(func() (events.Event, error) {
		return p.m.Merged(r.Context(), said.Export, said.Hub, member.Entry{})
	})
}
