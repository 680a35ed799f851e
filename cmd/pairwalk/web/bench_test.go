package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/cmd/pairwalk/web"
	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/syncd/member"
	"pairwalk/testdata/beside"
	"pairwalk/testdata/invent"
	"pairwalk/testdata/lodged"
)

// sizes are the sites that answers are measured on: a building and a large one,
// each a job of eight people.
var sizes = []invent.Job{
	{Seed: 1, Members: 8, Count: 10_000, Size: invent.Size{Seed: 1, Devices: 500}},
	{Seed: 1, Members: 8, Count: 100_000, Size: invent.Size{Seed: 1, Devices: 5_000}},
}

func sizeOf(j invent.Job) string { return fmt.Sprintf("%d-devices-%dk", j.Size.Devices, j.Count/1000) }

// lodges makes somebody a technician on the site of an invented job, who has heard of
// all of it, and whose clock goes on from there.
func lodges(t testing.TB, of invent.Job) *device {
	job := lodged.Of(of)
	job.Role = events.Tech
	folder := t.TempDir()
	_, err := job.In(folder, "Ann")
	require.NoError(t, err)
	d := newDevice(t, journal.Dir(folder), 3)
	d.time.Store(int64(job.World().Now().Wall.At))
	d.Member, err = d.home().Open("")
	require.NoError(t, err)
	return d
}

// BenchmarkAnswers is what each answer costs that a page asks for again once
// something was recorded, and how many bytes it is; of changes, one word.
func BenchmarkAnswers(b *testing.B) {
	for _, job := range sizes {
		d := lodges(b, job)
		p, err := web.New(web.Options{Member: d.Member, Now: d.stamp, Token: token, Hosts: []string{"page.example"}})
		require.NoError(b, err)
		tag := d.Now().Devices[0].Device
		for _, path := range []string{"changes", "now", "hubs", "status", "trouble", "trouble?lists=conflicts,holds,anomalies", "faults", "faults?most=12", "story", "story?subject=device:" + string(tag), "show?subject=device:" + string(tag), "team", "layout", "course", "reach", "reach?floor=7", "checks", "pictures"} {
			b.Run(sizeOf(job)+"/"+path, func(b *testing.B) {
				b.ReportAllocs()
				size := 0
				for b.Loop() {
					b.StopTimer()
					d.pass(1000)
					d.log(events.NoteAdded{Of: events.Device(tag), Text: "seen"})
					b.StartTimer()
					size = len(answered(b, p, path))
				}
				b.ReportMetric(float64(size), "bytes")
			})
		}
	}
}

// screens are what each screen of the page asks for again once the log has grown.
var screens = []struct {
	name  string
	paths []string
}{
	{"story", []string{"story?limit=60"}},
	{"now", []string{"now"}},
	{"trouble", []string{"trouble?lists=conflicts,holds,anomalies,quarantined,not_understood", "faults?most=12"}},
	{"team", []string{"team", "hubs?lists=hubs"}},
	{"plan", []string{"course", "reach?floor=7"}},
}

// BenchmarkScreens is what it costs an open page's process that a device was heard:
// one word of changes, and whatever a screen asks for again then, with what it has of
// answers before.
func BenchmarkScreens(b *testing.B) {
	for _, job := range sizes {
		d := lodges(b, job)
		p, err := web.New(web.Options{Member: d.Member, Now: d.stamp, Token: token, Hosts: []string{"page.example"}})
		require.NoError(b, err)
		n := 0
		for _, screen := range screens {
			if screen.name == "trouble" { // cards of conflicts show their entries
				for _, c := range member.ConflictsOf(d.Now())[:3] {
					screen.paths = append(screen.paths, "story?limit=500&subject="+c.Subjects[0]+"&refs="+strings.Join(c.Events, ","))
				}
			}
			b.Run(sizeOf(job)+"/"+screen.name, func(b *testing.B) {
				had := map[string]kept{}
				asks := func() {
					answered(b, p, "changes")
					for _, path := range screen.paths {
						had[path] = had[path].again(b, p, path)
					}
				}
				asks()
				b.ReportAllocs()
				var spent time.Duration
				for b.Loop() {
					b.StopTimer()
					d.pass(1000)
					x := d.Now().Devices[n%len(d.Now().Devices)]
					d.log(events.DeviceHeard{Device: x.Device, Hub: "H1"})
					n++
					b.StartTimer()
					before := beside.Spent()
					asks()
					spent += beside.Spent() - before
				}
				b.ReportMetric(float64(spent.Microseconds())/1000/float64(b.N), "cpu-ms/op")
			})
		}
	}
}

// kept is what a page keeps of an answer, to ask for what is new.
type kept struct{ tag, mark string }

func (k kept) again(tb testing.TB, p *web.Page, path string) kept {
	r := httptest.NewRequestWithContext(tb.Context(), http.MethodGet, "http://page.example/api/"+path+k.mark, nil)
	r.Header.Set("Authorization", "Bearer "+token)
	r.Header.Set("If-None-Match", k.tag)
	w := httptest.NewRecorder()
	p.ServeHTTP(w, r)
	k.tag = w.Header().Get("ETag")
	if w.Code == http.StatusNotModified {
		return k
	}
	require.Equal(tb, http.StatusOK, w.Code, "%s", w.Body)
	if path == "course" {
		var a struct{ Mark string }
		require.NoError(tb, json.Unmarshal(w.Body.Bytes(), &a))
		k.mark = "?after=" + a.Mark
	}
	return k
}

func answered(tb testing.TB, p *web.Page, path string) []byte {
	ctx, stop := context.WithCancel(tb.Context())
	if path == "changes" {
		stop() // after a word
	}
	defer stop()
	r := httptest.NewRequestWithContext(ctx, http.MethodGet, "http://page.example/api/"+path, nil)
	r.Header.Set("Authorization", "Bearer "+token)
	w := httptest.NewRecorder()
	p.ServeHTTP(w, r)
	require.Equal(tb, http.StatusOK, w.Code, "%s", w.Body)
	return w.Body.Bytes()
}
