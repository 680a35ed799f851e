package ordeal

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/cmd/pairwalk/ordeal/powercut"
)

// TestPowerCutWhileOpening: a site whose opening was told is there, in a home that
// was made for it.
func TestPowerCutWhileOpening(t *testing.T) {
	r := chance(t)
	told := 0
	for n := range *cuts {
		p := newMains(t)
		d := p.desk()
		var got outcome
		p.lasts(1+r.IntN(100), powercut.Fate{}, func(w *crew) {
			got = w.finish(d.command("--json", "init", "Kiln", "--as", "Ann", "--practice"))
		})
		if !json.Valid(got.out) || got.code != 0 {
			continue
		}
		told++
		require.Len(t, d.history(), 3, "cut %d: the site was opened", n)
	}
	t.Logf("%d power cuts while opening; %d sites told of, 0 lost", *cuts, told)
}

// TestPowerCutCommands takes the power while single commands log.
func TestPowerCutCommands(t *testing.T) {
	p := newMains(t)
	r := chance(t)
	d := p.desk().opens("Kiln", "Ann")
	for n := range *cuts {
		p.lasts(1+r.IntN(250), fate(n, r), func(w *crew) {
			var work sync.WaitGroup
			for who := range 2 {
				work.Go(func() { d.logsUntilStruck(w, fmt.Sprintf("cut %d, %d", n, who), func() {}) })
			}
			work.Wait()
		})
		d.audit(anything)
	}
	p.tells(d)
}

// TestPowerCutServing takes the power while a serving process takes entries by its
// page and by commands.
func TestPowerCutServing(t *testing.T) {
	p := newMains(t)
	r := chance(t)
	d := p.desk().opens("Kiln", "Ann")
	var once atomic.Uint64
	for n := range *cuts {
		p.lasts(1+r.IntN(120), fate(n, r), func(w *crew) {
			s := d.serves(w, "none")
			if s == nil {
				return
			}
			var work sync.WaitGroup
			for who := range 3 {
				work.Go(func() { d.postsUntilKilled(s, &once, fmt.Sprintf("cut %d, page %d", n, who), 8, func() {}) })
			}
			work.Go(func() { d.logsWhileServed(s, w, fmt.Sprintf("cut %d, command", n), func() {}) })
			work.Wait()
			<-s.ended
		})
		d.audit(anything)
	}
	p.tells(d)
	require.Greater(t, d.ledger.len(), *cuts)
}

// TestPowerCutPhotos takes the power while pictures are kept: one that was told of
// is whole.
func TestPowerCutPhotos(t *testing.T) {
	p := newMains(t)
	r := chance(t)
	d := p.desk().opens("Kiln", "Ann")
	photo := filepath.Join(t.TempDir(), "label.jpg")
	kept := 0
	for n := range *cuts {
		p.lasts(1+r.IntN(60), fate(n, r), func(w *crew) {
			for {
				require.NoError(t, os.WriteFile(photo, picture(r), 0o600))
				got := w.finish(d.command("--json", "log", "photo", "site", photo))
				if !d.acknowledges(got) {
					return
				}
				kept++
			}
		})
		d.audit(anything)
		d.requirePictures(kept)
	}
	p.tells(d)
	t.Logf("%d pictures acknowledged, 0 lost", kept)
}

// picture is an image that was never before: a header that is believed, and noise.
func picture(r *rand.Rand) []byte {
	b := []byte("\xff\xd8\xff\xe0\x00\x10JFIF\x00")
	for range 2000 + r.IntN(4000) {
		b = append(b, byte(r.Uint32()))
	}
	return b
}

// requirePictures reads every picture, and holds that at least so many are whole
// and none is missing.
func (d *desk) requirePictures(least int) {
	d.t.Helper()
	var doc struct {
		Pictures []struct{ SHA256, State string }
	}
	out := d.must("--json", "pictures", "--check")
	require.NoError(d.t, json.Unmarshal([]byte(out), &doc), out)
	require.GreaterOrEqual(d.t, len(doc.Pictures), least)
	for _, x := range doc.Pictures {
		require.Equal(d.t, "held", x.State, x.SHA256)
	}
}

// TestPowerCutSync takes the power of one who fetches and is fetched from. The
// other, on a machine of its own, is a ledger as well.
func TestPowerCutSync(t *testing.T) {
	p := newMains(t)
	r := chance(t)
	ann := newDesk(t, t.TempDir()).opens("Kiln", "Ann")
	bo := p.desk()
	bo.must("--json", "join", invited(t, ann), "--as", "Bo")
	s := ann.serves(nil, "127.0.0.1:0")
	require.NotNil(t, s)
	defer s.stop()
	bo.must("sync", s.addrs[0])
	var once atomic.Uint64
	synced := 0
	for n := range *cuts {
		for i := range 3 {
			texts := strings.Split(strings.Repeat(fmt.Sprintf("cut %d, %d %s|", n, i, strings.Repeat("z", 300)), 1+r.IntN(40)), "|")
			doc, err := s.posts(once.Add(1), texts[:len(texts)-1]...)
			require.NoError(t, err)
			ann.ledger.takes(doc.Entries...)
		}
		p.lasts(1+r.IntN(150), fate(n, r), func(w *crew) {
			bo.acknowledges(w.finish(bo.command("--json", "log", "note", "site", fmt.Sprintf("Bo's, cut %d", n))))
			if w.finish(bo.command("--json", "sync", s.addrs[0])).code == 0 {
				synced++
				bo.ledger.takes(ann.history()...)
			}
		})
		bo.ledger.sees(ann.history())
		bo.audit(anything)
	}
	bo.must("sync", s.addrs[0])
	require.Equal(t, ann.must("--json", "history"), bo.must("--json", "history"), "both hold the same")
	for _, p := range bo.verify().Problems {
		require.NotContains(t, p, ann.key(), "what came from Ann is healed by her")
	}
	bo.ledger.sees(ann.history())
	ann.audit(tornEnd)
	p.tells(bo)
	t.Logf("%d of %d syncs came to an end", synced, p.cuts)
}

// TestPowerCutCarrying takes the power while the log is written to a file, and the
// owner's pack over an older one: what was told of is there whole, and of two packs
// one always is.
func TestPowerCutCarrying(t *testing.T) {
	p := newMains(t)
	r := chance(t)
	d := p.desk().opens("Kiln", "Ann")
	carried := func(name string) string { return filepath.Join(p.dir, name) }
	d.must("handover", carried("pack"))
	told := 0
	for n := range *cuts {
		file := carried(fmt.Sprintf("%d.log", n))
		var wrote, packed bool
		p.lasts(1+r.IntN(240), fate(n, r), func(w *crew) {
			wrote = w.finish(d.command("bundle", "out", file)).code == 0
			packed = w.finish(d.command("handover", carried("pack"), "--force")).code == 0
		})
		if wrote {
			told++
			d.must("verify", file)
		}
		if packed {
			told++
			d.must("verify", carried("pack"))
		}
		require.True(t, d.verifiesOneOf(carried("*pack*"), carried(".pairwalk*")), "cut %d", n)
		d.must("handover", carried("pack"), "--force")
		d.audit(anything)
	}
	t.Logf("%d power cuts while carrying; %d files and packs told of, 0 lost", p.cuts, told)
}

// verifiesOneOf says whether something so called proves itself.
func (d *desk) verifiesOneOf(patterns ...string) bool {
	d.t.Helper()
	for _, pattern := range patterns {
		found, err := filepath.Glob(pattern)
		require.NoError(d.t, err)
		for _, name := range found {
			if d.run("verify", name).code == 0 {
				return true
			}
		}
	}
	return false
}

func invited(t *testing.T, by *desk) string {
	t.Helper()
	var doc struct{ Token string }
	require.NoError(t, json.Unmarshal([]byte(by.must("--json", "invite")), &doc))
	return doc.Token
}

// TestPowerCutReceipts: with what somebody was told is taken in, it is safe as well
// when it came. A settle wait rests on that.
func TestPowerCutReceipts(t *testing.T) {
	p := newMains(t)
	r := chance(t)
	ann := newDesk(t, t.TempDir()).opens("Kiln", "Ann")
	bo := p.desk()
	bo.must("--json", "join", invited(t, ann), "--as", "Bo")
	carried := filepath.Join(t.TempDir(), "ann.log")
	taken := 0
	for n := range *cuts {
		for i := range 4 {
			require.True(t, ann.acknowledges(ann.run("--json", "log", "note", "site", fmt.Sprintf("cut %d, %d", n, i))))
		}
		ann.must("bundle", "out", carried, "--force")
		var told []entry
		var had map[string]string
		p.lasts(1+r.IntN(100), fate(n, r), func(w *crew) {
			if w.finish(bo.command("--json", "bundle", "in", carried)).code == 0 {
				told, had = ann.history(), bo.receipts()
			}
		})
		if told != nil {
			taken++
			bo.ledger.takes(told...)
		}
		bo.audit(anything)
		now := bo.receipts()
		for number, when := range had {
			require.Equal(t, when, now[number], "cut %d: when %s came", n, number)
		}
	}
	p.tells(bo)
	t.Logf("%d of %d bundles were taken in", taken, p.cuts)
}

// receipts is when entries first came here, by their number, as the file has it;
// nothing where the power is gone.
func (d *desk) receipts() map[string]string {
	out := map[string]string{}
	found, err := filepath.Glob(filepath.Join(d.home, "sites", "*", "receipts"))
	if err != nil || len(found) != 1 {
		return nil
	}
	b, err := os.ReadFile(found[0])
	if err != nil {
		return nil
	}
	for line := range strings.Lines(string(b)) {
		var x struct {
			Log      string
			From, To int
			Wall     [2]int64
		}
		require.NoError(d.t, json.Unmarshal([]byte(line), &x), line)
		for n := x.From; x.Log != "" && n <= x.To; n++ {
			out[fmt.Sprintf("%s/%d", x.Log, n)] = fmt.Sprint(x.Wall)
		}
	}
	return out
}
