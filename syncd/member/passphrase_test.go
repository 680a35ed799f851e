package member_test

import (
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/journaltest"
	"pairwalk/syncd/member"
)

// lightWork makes a guess at a passphrase cheap: these tests guess often.
const lightWork member.Work = 2

// keysOf is the device's installation, whose owner answers with a passphrase.
func (d *device) keysOf(at journal.FS, answers ...string) *member.Home {
	return member.NewHome(at, member.World{Now: d.stamp, Rand: d.team.rand, MadeUp: true, Passphrase: func(member.SiteInfo) (string, error) {
		if len(answers) == 0 {
			return "", errors.New("nobody is there to be asked")
		}
		text := answers[0]
		answers = answers[1:]
		return text, nil
	}})
}

// closed is a device whose site nobody has open, with one entry.
func closed(t *testing.T) (d *device, keys string) {
	d = newTeam(t).lead
	d.log(events.NoteAdded{Of: events.Site(), Text: "before"})
	key := d.Key()
	require.NoError(t, d.Close())
	d.Member = nil
	for _, name := range d.fs.Files() {
		if strings.HasSuffix(name, "/keys.json") {
			keys = name
		}
	}
	require.NotEmpty(t, key)
	return d, keys
}

// files are the bytes of all of a device's files.
func (d *device) files() map[string]string {
	out := map[string]string{}
	for _, name := range d.fs.Files() {
		b, err := d.fs.Read(name)
		require.NoError(d.team.t, err)
		out[name] = string(b)
	}
	return out
}

// secrets are the two seeds in a clear keys' file.
func secrets(t *testing.T, file string) []string {
	var k struct{ FeedSeed, BusSeed string }
	require.NoError(t, json.Unmarshal([]byte(strings.NewReplacer("feed_seed", "FeedSeed", "bus_seed", "BusSeed").Replace(file)), &k))
	require.Len(t, k.FeedSeed+k.BusSeed, 128)
	return []string{k.FeedSeed, k.BusSeed}
}

func TestAPassphraseGuardsTheKeys(t *testing.T) {
	d, file := closed(t)
	seeds := secrets(t, d.files()[file])
	info, err := d.keysOf(d.fs).SetPassphrase("", "four words by lot", lightWork)
	require.NoError(t, err, "nobody is asked for one that is not there yet")
	require.True(t, info.Locked)
	for name, b := range d.files() {
		for _, seed := range seeds {
			require.NotContains(t, b, seed, name)
		}
	}
	sites, err := d.home().Sites()
	require.NoError(t, err, "what needs no keys asks for nothing")
	require.True(t, sites[0].Locked)
	_, report, err := d.home().Verify("")
	require.NoError(t, err)
	require.Empty(t, report.Problems)

	h := d.keysOf(d.fs, "four words by lot")
	d.Member, err = h.Open("")
	require.NoError(t, err)
	require.True(t, d.Info().Locked)
	require.Equal(t, sites[0].Key, d.Key())
	e := d.log(events.NoteAdded{Of: events.Site(), Text: "after"})
	require.Greater(t, e[0].Seq, events.Seq(1), "the same feed goes on")
	require.NoError(t, d.Close())
	d.Member, err = h.Open("")
	require.NoError(t, err, "one Home asks once")
}

func TestAWrongPassphraseChangesNothing(t *testing.T) {
	d, _ := closed(t)
	_, err := d.keysOf(d.fs).SetPassphrase("", "four words by lot", lightWork)
	require.NoError(t, err)
	before := d.files()
	for name, answer := range map[string]string{"wrong": "four words by lot!", "empty": "", "no text": "four words by \xff lot"} {
		_, err = d.keysOf(d.fs, answer).Open("")
		require.ErrorIs(t, err, member.ErrPassphrase, name)
		_, err = d.keysOf(d.fs, answer).SetPassphrase("", "another passphrase", lightWork)
		require.ErrorIs(t, err, member.ErrPassphrase, name)
		_, err = d.keysOf(d.fs, answer).RemovePassphrase("")
		require.ErrorIs(t, err, member.ErrPassphrase, name)
	}
	_, err = d.keysOf(d.fs).Open("")
	require.ErrorContains(t, err, "nobody is there")
	_, err = d.home().Open("")
	require.ErrorIs(t, err, member.ErrKeysLocked)
	require.Equal(t, before, d.files())
}

func TestAPassphraseIsChangedAndRemoved(t *testing.T) {
	d, file := closed(t)
	plain := d.files()[file]
	_, err := d.keysOf(d.fs).SetPassphrase("", "four words by lot", lightWork)
	require.NoError(t, err)
	_, err = d.keysOf(d.fs, "four words by lot").SetPassphrase("", "another passphrase", lightWork)
	require.NoError(t, err)
	_, err = d.keysOf(d.fs, "four words by lot").RemovePassphrase("")
	require.ErrorIs(t, err, member.ErrPassphrase, "the old one is no good any more")
	info, err := d.keysOf(d.fs, "another passphrase").RemovePassphrase("")
	require.NoError(t, err)
	require.False(t, info.Locked)
	require.Equal(t, plain, d.files()[file], "as it was before")
	_, err = d.keysOf(d.fs).RemovePassphrase("")
	require.ErrorIs(t, err, member.ErrKeysClear)
}

// What is typed on one keyboard opens what was locked on another.
func TestAPassphraseIsTheSameOnEveryKeyboard(t *testing.T) {
	d, _ := closed(t)
	composed, apart := "Gr\u00fc\u00dfe vom Dach", "Gru\u0308\u00dfe vom Dach"
	require.NotEqual(t, composed, apart)
	_, err := d.keysOf(d.fs).SetPassphrase("", composed, lightWork)
	require.NoError(t, err)
	_, err = d.keysOf(d.fs, apart).RemovePassphrase("")
	require.NoError(t, err)
}

func TestBadPassphrasesAreRefused(t *testing.T) {
	d, file := closed(t)
	before := d.files()[file]
	for words, text := range map[string]string{"8 characters at least": "seven77", "not text": "tab\tand more", "512 bytes at most": strings.Repeat("x", 513)} {
		_, err := d.keysOf(d.fs).SetPassphrase("", text, lightWork)
		require.ErrorContains(t, err, words)
	}
	for _, work := range []member.Work{0, member.MostWork + 1} {
		_, err := d.keysOf(d.fs).SetPassphrase("", "four words by lot", work)
		require.ErrorContains(t, err, "work is from 1 to 20")
	}
	require.Equal(t, before, d.files()[file])
}

// rekeying are the ways to put the keys' file into another form.
var rekeying = map[string]struct {
	from string // the passphrase before, "" for none
	do   func(*member.Home) (member.SiteInfo, error)
	to   string
}{
	"set":    {"", func(h *member.Home) (member.SiteInfo, error) { return h.SetPassphrase("", "the new words", lightWork) }, "the new words"},
	"change": {"the old words", func(h *member.Home) (member.SiteInfo, error) { return h.SetPassphrase("", "the new words", lightWork) }, "the new words"},
	"remove": {"the old words", func(h *member.Home) (member.SiteInfo, error) { return h.RemovePassphrase("") }, ""},
}

// opensByOne holds a device's keys to be there after whatever happened, in the one
// form or the other, and nothing clear to be left beside a locked file.
func (d *device) opensByOne(at *journal.MemFS, file string, seeds []string, where string, passphrases ...string) {
	t := d.team.t
	var opened bool
	for _, p := range passphrases {
		m, err := d.keysOf(at, p).Open("")
		if err == nil {
			opened = true
			require.NoError(t, m.Close(), where)
			break
		}
		require.ErrorIs(t, err, member.ErrPassphrase, where)
	}
	require.True(t, opened, "%s: the keys are lost", where)
	require.NotContains(t, at.Files(), file+journal.FreshSuffix, where)
	sites, err := d.keysOf(at).Sites()
	require.NoError(t, err, where)
	for _, name := range at.Files() {
		b, err := at.Read(name)
		require.NoError(t, err, where)
		if sites[0].Locked {
			require.NotContains(t, string(b), seeds[0], "%s: %s", where, name)
		}
	}
}

// Something fails at every call in turn while the keys' file is changed, and then the
// power goes.
func TestKeysOutliveACrashAtEveryCall(t *testing.T) {
	for name, x := range rekeying {
		t.Run(name, func(t *testing.T) {
			d, file := closed(t)
			seeds := secrets(t, d.files()[file])
			if x.from != "" {
				_, err := d.keysOf(d.fs).SetPassphrase("", x.from, lightWork)
				require.NoError(t, err)
			}
			var count journaltest.Trap
			_, err := x.do(d.keysOf(journaltest.Faulty(d.fs.Clone(), &count), x.from))
			require.NoError(t, err)
			require.Greater(t, count.Calls, 8)
			for _, how := range []journaltest.How{journaltest.Undone, journaltest.Halfway, journaltest.Done} {
				for n := 1; n <= count.Calls; n++ {
					where := fmt.Sprintf("call %d of %d %s", n, count.Calls, how)
					for _, loss := range []*journal.Loss{nil, {}, {KeepBytes: 100}, {KeepNames: true}, {KeepNames: true, KeepBytes: 100}, {KeepNames: true, KeepBytes: 1 << 20}} {
						at := d.fs.Clone()
						_, _ = x.do(d.keysOf(journaltest.Faulty(at, &journaltest.Trap{N: n, How: how, Good: true}), x.from)) // the last calls may fail without harm
						if loss != nil {
							at.Crash(*loss)
							where += fmt.Sprintf(", then the power goes: %+v", *loss)
						}
						d.opensByOne(at, file, seeds, where, x.from, x.to)
					}
				}
			}
		})
	}
}

// Nobody can give a member another name, key, root or guess by writing to a locked
// file, nor make opening it take the machine's memory.
func TestALockedFileCannotBeRewritten(t *testing.T) {
	d, file := closed(t)
	_, err := d.keysOf(d.fs).SetPassphrase("", "four words by lot", lightWork)
	require.NoError(t, err)
	good, err := d.fs.Read(file)
	require.NoError(t, err)
	var doc map[string]any
	require.NoError(t, json.Unmarshal(good, &doc))
	other := string(newTeam(t).joins("ben", events.Tech).Key())
	require.NotEqual(t, other, doc["feed_key"])
	heavy := strings.Replace(decoded(t, doc["locked"]), " 2\n", " 21\n", 1)
	flipped := []byte(decoded(t, doc["locked"]))
	flipped[len(flipped)-1] ^= 1
	for key, value := range map[string]any{
		"site_name": "Elsewhere", "name": "mallory", "root": other, "feed_key": other, "bus_key": other, "zone": "Mars/Olympus", "practice": false,
		"feed_seed": strings.Repeat("00", 32), "v": 1, "locked": base64.StdEncoding.EncodeToString([]byte(heavy)),
		"locked, flipped": base64.StdEncoding.EncodeToString(flipped), "locked, cut": base64.StdEncoding.EncodeToString(flipped[:100]), "locked, none": nil,
	} {
		forged := maps.Clone(doc)
		name, _, _ := strings.Cut(key, ",")
		forged[name] = value
		b, err := json.Marshal(forged)
		require.NoError(t, err)
		d.fs.Put(file, b)
		_, err = d.keysOf(d.fs, "four words by lot").Open("")
		require.ErrorContains(t, err, "keys.json is damaged", key)
	}
	d.fs.Put(file, good)
	m, err := d.keysOf(d.fs, "four words by lot").Open("")
	require.NoError(t, err)
	require.NoError(t, m.Close())

	doc["v"] = 3
	b, err := json.Marshal(doc)
	require.NoError(t, err)
	d.fs.Put(file, b)
	_, err = d.keysOf(d.fs, "four words by lot").Open("")
	require.ErrorContains(t, err, "later version")
}

func decoded(t *testing.T, v any) string {
	b, err := base64.StdEncoding.DecodeString(v.(string))
	require.NoError(t, err)
	return string(b)
}

// Two who change it at once: one is told to wait, and a command that opens the site
// leaves the fresh file of the other alone.
func TestOneAtATimeChangesTheKeys(t *testing.T) {
	d, file := closed(t)
	held, err := d.fs.Lock(strings.TrimSuffix(file, "keys.json") + "keys.lock")
	require.NoError(t, err)
	d.fs.Put(file+journal.FreshSuffix, []byte("half of "))
	_, err = d.keysOf(d.fs).SetPassphrase("", "four words by lot", lightWork)
	require.ErrorContains(t, err, "another command is changing the passphrase")
	m, err := d.home().Open("")
	require.NoError(t, err)
	require.NoError(t, m.Close())
	require.Contains(t, d.fs.Files(), file+journal.FreshSuffix)
	require.NoError(t, held.Close())
	m, err = d.home().Open("")
	require.NoError(t, err)
	require.NoError(t, m.Close())
	require.NotContains(t, d.fs.Files(), file+journal.FreshSuffix)
}
