package web

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"pairwalk/events"
	"pairwalk/events/intake"
	"pairwalk/syncd/member"
)

func (p *Page) set(w http.ResponseWriter, r *http.Request) (any, error) {
	var said struct {
		Key   events.SettingKey `json:"key"`
		Value string            `json:"value"`
	}
	if err := read(w, r, &said); err != nil {
		return nil, err
	}
	return p.recorded(func() ([]events.Event, error) {
		e, err := p.m.Set(r.Context(), said.Key, said.Value)
		return []events.Event{e}, err
	})
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

// imported is what a sheet would change, or has changed.
type imported struct {
	V        int      `json:"v"`
	Kind     string   `json:"kind"`
	Table    string   `json:"table,omitempty"`
	DryRun   bool     `json:"dry_run"`
	Taken    int      `json:"taken"`
	Adds     int      `json:"adds"`
	Amends   int      `json:"amends"`
	Renames  int      `json:"renames"`
	Strikes  int      `json:"strikes"`
	Entries  int      `json:"entries"`
	Rows     int      `json:"rows"`
	Same     int      `json:"same"`
	Lines    []string `json:"lines"`
	Problems []string `json:"problems"`
	Notes    []string `json:"notes"`
	Flagged  []string `json:"flagged"`
}

func (p *Page) take(r *http.Request, plan member.Plan, how taking) (any, error) {
	d := plan.Diff
	out := imported{
		V: member.AnswerVersion, Kind: string(plan.Sheet.Kind), Table: plan.Sheet.Table, DryRun: how.Dry, Rows: len(plan.Sheet.Rows),
		Adds: len(d.Adds), Amends: len(d.Amends), Renames: len(d.Renames), Strikes: len(d.Strikes), Entries: len(d.Entries), Same: d.Same,
		Lines: []string{}, Problems: []string{}, Notes: []string{}, Flagged: []string{},
	}
	if text := strings.TrimSpace(d.String()); text != "" && plan.Sheet.Kind != intake.FieldSheet {
		out.Lines = strings.Split(text, "\n")
	}
	if plan.Sheet.Kind == intake.FieldSheet {
		out.Lines = p.rowWords(plan.Sheet.Rows)
	}
	for _, x := range plan.Problems() {
		out.Problems = append(out.Problems, x.String())
	}
	for _, x := range plan.Sheet.Notes {
		out.Notes = append(out.Notes, x.String())
	}
	if how.Dry {
		return out, nil
	}
	before := p.m.Now()
	evs, err := p.m.Import(r.Context(), plan, how.Accept, how.Partial)
	if err != nil {
		return nil, err
	}
	marks := member.MarksOf(before, p.m.Now(), evs)
	out.Taken, out.Flagged = len(evs), full(marks.Flagged)
	return out, nil
}

// rowWords says each row of a field sheet in words.
func (p *Page) rowWords(rows []intake.Row) []string {
	out, zone := []string{}, p.m.Now().Location()
	for _, x := range rows {
		words := fmt.Sprintf("row %d: %s", x.Number, x.Payload)
		if x.When.Known {
			words += ", " + x.When.Value.Middle().Time().In(zone).Format("2 Jan 15:04")
		}
		if x.By != "" {
			words += ", by " + x.By
		}
		out = append(out, words)
	}
	return out
}

// fieldSheet takes in the rows of a paper sheet as they were typed.
func (p *Page) fieldSheet(w http.ResponseWriter, r *http.Request) (any, error) {
	var said struct {
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
	}
	if err := read(w, r, &said); err != nil {
		return nil, err
	}
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
	out, err := p.m.RecordsOut(&sheet)
	if err == nil {
		_, err = p.m.Exported(r.Context(), out)
	}
	if err != nil {
		p.fail(w, err)
		return
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("X-Pairwalk-Export", out.Export)
	w.Header().Set("X-Pairwalk-Rows", strconv.Itoa(out.Rows))
	_, _ = w.Write(sheet.Bytes())
}

func (p *Page) homecoming(w http.ResponseWriter, r *http.Request) (any, error) {
	file, err := bytesOf(w, r, mostFile)
	if err != nil {
		return nil, err
	}
	home, err := p.m.RecordsBack(bytes.NewReader(file))
	if err != nil {
		return nil, err
	}
	home.Differences = full(home.Differences)
	return home, nil
}

func (p *Page) merged(w http.ResponseWriter, r *http.Request) (any, error) {
	var said struct {
		Export string       `json:"export"`
		Hub    events.HubID `json:"hub"`
	}
	if err := read(w, r, &said); err != nil {
		return nil, err
	}
	if said.Hub != "" {
		if _, ok := p.m.Now().Hub(said.Hub); !ok {
			return nil, wrong{errors.New("no hub " + string(said.Hub))}
		}
	}
	return p.recorded(func() ([]events.Event, error) {
		e, err := p.m.Merged(r.Context(), said.Export, said.Hub, member.Entry{})
		return []events.Event{e}, err
	})
}
