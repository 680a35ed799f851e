package member_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd/member"
)

// found is a copy of a device that is not running, for one turn of a fuzz target.
func (d *device) found(t *testing.T) *device {
	x := *d.team
	x.t = t
	return &device{team: &x, name: d.name, fs: d.fs.Clone(), boot: d.boot}
}

// FuzzHomeFiles opens a site in whose folder a file is whatever somebody with the
// disk in hand wrote. What is only ever local knowledge never stops it, nor
// changes what the log says; keys that are no keys are an error and nothing else.
func FuzzHomeFiles(f *testing.F) {
	_, ada, _ := pairOf(f)
	ada.Refused("192.0.2.7", "came without a key", "")
	require.NoError(f, ada.Met("192.0.2.9:24517", ada.bus()))
	want, self := ada.status(projection.Moment{}), ada.bus()
	require.NoError(f, ada.Close())
	ada.Member = nil
	files := []string{"keys.json", "heard.json", "meet.json", "refused.json"}
	var folder string
	for _, name := range ada.fs.Files() {
		dir, file, _ := strings.Cut(strings.TrimPrefix(name, "sites/"), "/")
		for i, x := range files {
			if file == x {
				folder = "sites/" + dir + "/"
				b, err := ada.fs.Read(name)
				require.NoError(f, err)
				f.Add(byte(i), b)
				f.Add(byte(i), b[:len(b)/2])
				f.Add(byte(i), bytes.Replace(b, []byte(`"site": "`), []byte(`"site": "../`), 1))
				f.Add(byte(i), bytes.ReplaceAll(b, []byte(`"wall": 1`), []byte(`"wall": -9`)))
			}
		}
	}
	f.Add(byte(0), []byte(`{"v":1,"site":"x","feed_seed":"","bus_seed":""}`))
	f.Add(byte(1), []byte("null"))
	f.Add(byte(2), []byte(`{"meet":[{"addr":"","key":"x"},{}],"pinned":["",null]}`))
	f.Add(byte(3), []byte(`{"rows":[{"count":-1},{"count":9223372036854775807}]}`))
	f.Fuzz(func(t *testing.T, which byte, b []byte) {
		file := files[int(which)%len(files)]
		d := ada.found(t)
		d.fs.Put(folder+file, b)
		_, err := d.home().Find("no such site")
		require.Error(t, err)
		if sites, err := d.home().Sites(); err == nil {
			require.Len(t, sites, 1)
			require.Equal(t, folder, "sites/"+string(sites[0].ID)+"/", "a folder is of the site it is called by")
		}
		d.Member, err = d.home().Open("")
		if err != nil {
			require.Equal(t, "keys.json", file)
			return
		}
		if file != "keys.json" {
			require.Equal(t, want, d.status(projection.Moment{}))
		}
		d.Refused("192.0.2.7", "came without a key", "")
		_ = d.Met("192.0.2.10:24517", self)
		d.Meetings()
		require.NoError(t, d.Close())
		for _, name := range d.fs.Files() {
			require.True(t, strings.HasPrefix(name, folder) || strings.HasPrefix(name, "marks/"), "%s is outside of the folder", name)
		}
	})
}

// FuzzPhotosIn takes in any file as one of pictures: only what entries speak of is
// kept, and nothing under another's name.
func FuzzPhotosIn(f *testing.F) {
	_, ada, ben := pairOf(f)
	p, _ := ada.takesPhoto(events.Site(), 7, 300)
	q, _ := ada.takesPhoto(events.Site(), 8, 400)
	var file bytes.Buffer
	_, _, err := ada.PhotosOut(&file)
	require.NoError(f, err)
	ben.takes(ada.bundle())
	require.NoError(f, ben.Close())
	ben.Member = nil
	whole := file.Bytes()
	f.Add(whole)
	f.Add(whole[:700])
	f.Add(bytes.Replace(whole, []byte(p.SHA256), []byte(q.SHA256), 1))
	f.Add(bytes.Replace(whole, []byte("ustar"), []byte("GNUSx"), 1))
	f.Fuzz(func(t *testing.T, b []byte) {
		d := ben.found(t)
		var err error
		d.Member, err = d.home().Open("")
		require.NoError(t, err)
		defer d.Close()
		got, _ := d.PhotosIn(bytes.NewReader(b))
		require.LessOrEqual(t, got.Fresh, 2)
		held := 0
		for i, x := range []events.Picture{p, q} {
			if content, err := d.Picture(x.SHA256); err == nil {
				held++
				_, right := image(byte(7+i), int(x.Bytes))
				require.Equal(t, right, content)
			}
		}
		require.Equal(t, got.Fresh, held)
		pictures := 0
		for _, name := range d.fs.Files() {
			if strings.Contains(name, "/pictures/") {
				pictures++
			}
		}
		require.Equal(t, held, pictures, "nothing else was left behind")
	})
}

// FuzzAdmits shows a doorkeeper any key and any join: a stranger's comes in by one
// line alone, byte for byte, and under the key it names.
func FuzzAdmits(f *testing.F) {
	x, ada, ben := pairOf(f)
	cleo := x.joinsNow("cleo", events.Tech)
	key, joined, team := cleo.bus(), cleo.Joined(), []events.Key{ada.bus(), ben.bus()}
	f.Add(string(key), joined)
	f.Add(string(key), ben.Joined())
	f.Add(string(ben.bus()), joined)
	f.Add(string(key), append(bytes.Clone(joined), '\n'))
	f.Add("", []byte("{}"))
	f.Fuzz(func(t *testing.T, bus string, shown []byte) {
		if ada.Admits(events.Key(bus), shown) != nil {
			return
		}
		known := slices.Contains(team, events.Key(bus))
		require.True(t, known || bus == string(key) && bytes.Equal(shown, joined))
	})
}

// FuzzReading opens any file as a log, as somebody from outside does: what is shown
// was signed, and nothing can be recorded.
func FuzzReading(f *testing.F) {
	x, ada, ben := pairOf(f)
	ada.log(events.NoteAdded{Of: events.Site(), Text: "hello"})
	whole := ada.bundle()
	f.Add(whole)
	f.Add(ben.bundle())
	f.Add(whole[:len(whole)/2])
	f.Add(append(bytes.Clone(whole), whole...))
	signed := map[events.Hash]bool{}
	all, err := member.ReadExcerpt(bytes.NewReader(whole))
	require.NoError(f, err)
	for _, e := range all.History.Ordered() {
		signed[e.Hash] = true
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		m, err := member.Reading(t.Context(), bytes.NewReader(file), member.World{Now: ada.stamp, Rand: x.rand, MadeUp: true})
		if err != nil {
			return
		}
		defer m.Close()
		e, err := member.ReadExcerpt(bytes.NewReader(file))
		require.NoError(t, err)
		for _, e := range e.History.Ordered() {
			require.True(t, signed[e.Hash])
		}
		require.Equal(t, e.History.At(projection.Moment{}).Heads, m.Now().Heads)
		_, err = m.Record(t.Context(), member.Entry{Payload: events.NoteAdded{Of: events.Site(), Text: "no"}})
		require.ErrorIs(t, err, member.ErrReading)
	})
}
