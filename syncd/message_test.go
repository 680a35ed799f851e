package syncd_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pairwalk/events"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
	"pairwalk/syncd"
)

var someFeeds = func() []events.FeedID {
	var out []events.FeedID
	for i := range uint64(8) {
		out = append(out, journaltest.NewAuthor(i/2).Anew(i).Feed)
	}
	return out
}()

func drawRef(t *rapid.T) events.Ref {
	ref := events.Ref{
		Feed: rapid.SampledFrom(someFeeds).Draw(t, "feed"),
		Seq:  events.Seq(rapid.Uint64Range(1, 1<<53).Draw(t, "seq")),
	}
	copy(ref.Hash[:], rapid.SliceOfN(rapid.Byte(), 8, 8).Draw(t, "hash"))
	return ref
}

func TestHavesComeThroughTheWire(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		have := syncd.Have{Holes: map[events.FeedID][]events.Seq{}}
		for range rapid.IntRange(0, 20).Draw(t, "tips") {
			have.Tips = append(have.Tips, drawRef(t))
		}
		slices.SortFunc(have.Tips, events.Ref.Compare)
		have.Tips = slices.Compact(have.Tips)
		for _, tip := range have.Tips {
			if rapid.Bool().Draw(t, "has holes") {
				have.Holes[tip.Feed] = append(have.Holes[tip.Feed], tip.Seq)
			}
		}
		again, err := syncd.DecodeHave(have.Encode())
		require.NoError(t, err)
		require.Equal(t, have, again)
		require.Equal(t, string(have.Encode()), string(again.Encode()))
		require.True(t, have.Same(again))
		require.Empty(t, have.Since(again).Tips)
		require.Equal(t, have.Tips, have.Since(syncd.Have{}).Tips)
	})
}

func TestPullsComeThroughTheWire(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pull := syncd.Pull{
			Tip:  drawRef(t),
			From: events.Seq(rapid.Uint64Range(1, 1<<53).Draw(t, "from")),
			To:   events.Seq(rapid.Uint64().Draw(t, "to")),
			Max:  rapid.IntRange(0, 1<<40).Draw(t, "max"),
		}
		copy(pull.Prev[:], rapid.SliceOfN(rapid.Byte(), 8, 8).Draw(t, "prev"))
		again, err := syncd.DecodePull(pull.Encode())
		require.NoError(t, err)
		require.Equal(t, pull, again)
	})
}

func TestHavesPastTheBounds(t *testing.T) {
	tips := func(n int, place string) string {
		return fmt.Sprintf(`{"v":1,"tips":{%q:[%s]}}`, someFeeds[0], strings.TrimSuffix(strings.Repeat(place+",", n), ","))
	}
	holes := func(feed events.FeedID, n int) string {
		return fmt.Sprintf(`{"v":1,"tips":{%q:[[9,"0123456789abcdef"]]},"holes":{%q:[%s]}}`,
			someFeeds[0], feed, strings.TrimSuffix(strings.Repeat("3,", n), ","))
	}
	good := `[9,"0123456789abcdef"]`
	for name, row := range map[string]struct {
		bytes string
		ok    bool
	}{
		"empty":                      {`{"v":1,"tips":{}}`, true},
		"as many branches as may be": {tips(syncd.MaxBranches, good), true},
		"one branch more":            {tips(syncd.MaxBranches+1, good), false},
		"as many holes as may be":    {holes(someFeeds[0], syncd.MaxHoles), true},
		"one hole more":              {holes(someFeeds[0], syncd.MaxHoles+1), false},
		"holes of a feed it has not": {holes(someFeeds[1], 1), false},
		"the highest number":         {tips(1, `[9007199254740992,"0123456789abcdef"]`), true},
		"one higher":                 {tips(1, `[9007199254740993,"0123456789abcdef"]`), false},
		"number 0":                   {tips(1, `[0,"0123456789abcdef"]`), false},
		"a negative number":          {tips(1, `[-1,"0123456789abcdef"]`), false},
		"a number with a fraction":   {tips(1, `[1.5,"0123456789abcdef"]`), false},
		"a hash too short":           {tips(1, `[1,"0123"]`), false},
		"a hash in capitals":         {tips(1, `[1,"0123456789ABCDEF"]`), false},
		"a place of nothing":         {tips(1, `[]`), false},
		"a feed that is none":        {`{"v":1,"tips":{"x":[]}}`, false},
		"a later version":            {`{"v":2,"tips":{}}`, false},
		"no version":                 {`{"tips":{}}`, false},
		"too many bytes":             {`{"v":1,"tips":{}` + strings.Repeat(" ", 1<<20) + `}`, false},
		"no bytes":                   {``, false},
		"half":                       {tips(1, good)[:60], false},
		"something after it":         {`{"v":1,"tips":{}} {}`, false},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := syncd.DecodeHave([]byte(row.bytes))
			require.Equal(t, row.ok, err == nil, "%v", err)
		})
	}
}

// A log of more than a have may name tells of as much as it may.
func TestAHaveKeepsToTheBounds(t *testing.T) {
	author, lines := joined(1)
	m := newMember(t, 1).holds(lines)
	for i := range 40 {
		m.holds([]seal.Verified{author.Twin().Note(fmt.Sprint("branch ", i))})
	}
	holed := feed(2, 1100)
	m.holds(holed[:2])
	_, err := m.log.TakeHole(ctx, holed[0].Feed(), holed[1098].Head(), holed[1099])
	require.NoError(t, err)
	have, err := syncd.DecodeHave(m.have().Encode())
	require.NoError(t, err)
	require.Equal(t, syncd.MaxBranches+1, len(have.Tips))
	require.Equal(t, syncd.MaxHoles, len(have.Holes[holed[0].Feed()]))
}

// crowded is a log of nothing but tips.
type crowded struct {
	syncd.Log
	tips []events.Ref
}

func (c crowded) Tips() []events.Ref                   { return c.tips }
func (crowded) Holes() map[events.FeedID][]events.Head { return nil }

func TestAHaveOfMoreFeedsThanItMayName(t *testing.T) {
	var log crowded
	author := journaltest.NewAuthor(1)
	for i := range uint64(syncd.MaxTips + 5) {
		log.tips = append(log.tips, events.Ref{Feed: author.Anew(i).Feed, Seq: 1, Hash: events.Hash8{1}})
	}
	have, err := syncd.DecodeHave(syncd.HaveOf(log, func(events.Key) bool { return true }).Encode())
	require.NoError(t, err)
	require.Len(t, have.Tips, syncd.MaxTips)
}

func TestATipNamedTwiceIsOne(t *testing.T) {
	have, err := syncd.DecodeHave(fmt.Appendf(nil, `{"v":1,"tips":{%q:[[1,"0123456789abcdef"],[1,"0123456789abcdef"]]}}`, someFeeds[0]))
	require.NoError(t, err)
	require.Len(t, have.Tips, 1)
}

func TestAnswers(t *testing.T) {
	lines, stranger := feed(1, 12), journaltest.NewAuthor(50).Notes(3)
	left, right := branches(5, 4, 6)
	absent := feed(9, 2)
	m := newMember(t, 1).holds(lines, stranger)
	forked := newMember(t, 2).holds(left, right)
	holed, gaping := newMember(t, 3).lacks(right, 7), newMember(t, 4).lacks(right, 7, 8)
	tip := lines[11].Ref()
	prev := func(n int) events.Hash8 { return lines[n-1].Hash().Short() }
	reply := func(is string, of events.FeedID, sent ...seal.Verified) string {
		return strings.Replace(string(lineReply(syncd.Pull{Tip: events.Ref{Feed: of}}, sent...)), "lines", is, 1)
	}
	for name, row := range map[string]struct {
		of   *member
		pull syncd.Pull
		want string
	}{
		"from the first line":                  {m, syncd.Pull{Tip: tip, From: 1, Max: 9999999}, reply("lines", tip.Feed, lines...)},
		"from the middle":                      {m, syncd.Pull{Tip: tip, From: 9, Prev: prev(8), Max: 99999}, reply("lines", tip.Feed, lines[8:]...)},
		"from the middle, not compared":        {m, syncd.Pull{Tip: tip, From: 9, Max: 99999}, reply("lines", tip.Feed, lines[8:]...)},
		"up to a line":                         {m, syncd.Pull{Tip: tip, From: 3, To: 5, Max: 99999}, reply("lines", tip.Feed, lines[2:5]...)},
		"up to a line before the first":        {m, syncd.Pull{Tip: tip, From: 5, To: 3, Max: 99999}, reply("lines", tip.Feed)},
		"past an older tip":                    {m, syncd.Pull{Tip: lines[5].Ref(), From: 6, Prev: prev(5), Max: 99999}, reply("lines", tip.Feed, lines[5:]...)},
		"from past the end":                    {m, syncd.Pull{Tip: tip, From: 13, Prev: prev(12), Max: 99999}, reply("lines", tip.Feed)},
		"from far past the end":                {m, syncd.Pull{Tip: tip, From: 1 << 53, Prev: prev(12), Max: 99999}, reply("diverged", tip.Feed)},
		"after another line":                   {m, syncd.Pull{Tip: tip, From: 9, Prev: prev(7), Max: 99999}, reply("diverged", tip.Feed)},
		"a tip that is not held":               {m, syncd.Pull{Tip: events.Ref{Feed: tip.Feed, Seq: 12}, From: 1, Max: 99999}, reply("unknown", tip.Feed)},
		"a feed that is not held":              {m, syncd.Pull{Tip: absent[0].Ref(), From: 1, Max: 99999}, reply("unknown", absent[0].Feed())},
		"a stranger's feed, though held":       {m, syncd.Pull{Tip: stranger[2].Ref(), From: 1, Max: 99999}, reply("unknown", stranger[0].Feed())},
		"one branch":                           {forked, syncd.Pull{Tip: left[8].Ref(), From: 1, Max: 99999}, reply("lines", left[0].Feed(), left...)},
		"the other":                            {forked, syncd.Pull{Tip: right[10].Ref(), From: 4, Max: 99999}, reply("lines", left[0].Feed(), right[3:]...)},
		"one branch after a line on the other": {forked, syncd.Pull{Tip: right[10].Ref(), From: 8, Prev: left[6].Hash().Short(), Max: 99999}, reply("diverged", left[0].Feed())},
		"after a line missing here":            {holed, syncd.Pull{Tip: right[10].Ref(), From: 8, Prev: right[6].Hash().Short(), Max: 99999}, reply("lines", left[0].Feed(), right[7:]...)},
		"after a line of a longer hole":        {gaping, syncd.Pull{Tip: right[10].Ref(), From: 8, Prev: left[6].Hash().Short(), Max: 99999}, reply("lines", left[0].Feed(), right[8:]...)},
		"after another than is missing here":   {holed, syncd.Pull{Tip: right[10].Ref(), From: 8, Prev: left[6].Hash().Short(), Max: 99999}, reply("diverged", left[0].Feed())},
	} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, row.want, string(row.of.peer().answer(row.pull.Encode())))
		})
	}
}

// Whatever comes in that is not a pull is refused, in bytes that can be read.
func TestAnswersToGarbage(t *testing.T) {
	lines := feed(1, 3)
	m := newMember(t, 1).holds(lines)
	good := string(syncd.Pull{Tip: lines[2].Ref(), From: 1, Max: 99}.Encode())
	for name, request := range map[string]string{
		"no bytes":        "",
		"noise":           string(noise(300)),
		"half":            good[:50],
		"a have":          string(m.have().Encode()),
		"a later version": strings.Replace(good, `"v":1`, `"v":2`, 1),
		"too long":        good + strings.Repeat(" ", 1024),
		"no feed":         strings.Replace(good, string(lines[0].Feed()), "", 1),
		"from 0":          strings.Replace(good, `"from":1`, `"from":0`, 1),
		"from too far":    strings.Replace(good, `"from":1`, `"from":9007199254740993`, 1),
		"negative room":   strings.Replace(good, `"max":99`, `"max":-1`, 1),
		"a bad prev":      strings.Replace(good, `"from":1`, `"from":1,"prev":"zz"`, 1),
	} {
		t.Run(name, func(t *testing.T) {
			require.NotEqual(t, good, request)
			require.JSONEq(t, `{"v":1,"feed":"","is":"refused"}`, string(m.peer().answer([]byte(request))))
		})
	}
}
