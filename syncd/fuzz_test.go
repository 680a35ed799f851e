package syncd_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events/journal/journaltest"
	"pairwalk/syncd"
)

func FuzzDecodeHave(f *testing.F) {
	lines := feed(1, 9)
	f.Add(newMember(f, 1).lacks(lines, 4).have().Encode())
	f.Add([]byte(`{"v":1,"tips":{}}`))
	f.Add([]byte(`{"v":1,"tips":{"x":[[1,""]]},"holes":{"x":[1]}}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		have, err := syncd.DecodeHave(b)
		if err != nil {
			return
		}
		require.LessOrEqual(t, len(have.Tips), syncd.MaxTips)
		again, err := syncd.DecodeHave(have.Encode())
		require.NoError(t, err)
		require.True(t, have.Same(again))
		require.Equal(t, have.Encode(), again.Encode())
	})
}

func FuzzDecodePull(f *testing.F) {
	lines := feed(1, 3)
	f.Add(syncd.Pull{Tip: lines[2].Ref(), From: 2, To: 3, Prev: lines[0].Hash().Short(), Max: 9}.Encode())
	f.Add(syncd.Pull{Tip: lines[2].Ref(), From: 1}.Encode())
	f.Add([]byte("{}"))
	f.Fuzz(func(t *testing.T, b []byte) {
		pull, err := syncd.DecodePull(b)
		if err != nil {
			return
		}
		again, err := syncd.DecodePull(pull.Encode())
		require.NoError(t, err)
		require.Equal(t, pull, again)
	})
}

// Whatever a reply is, the lines that come out of it are the author's own.
func FuzzOpenReply(f *testing.F) {
	lines := feed(1, 6)
	ask := syncd.Ask{Pull: syncd.Pull{Tip: lines[5].Ref(), From: 3, Prev: lines[1].Hash().Short(), Max: 9000}}
	for _, reply := range [][]byte{
		lineReply(ask.Pull, lines[2:]...), lineReply(ask.Pull, lines[2], lines[4], lines[5]),
		lineReply(ask.Pull, lines...), unsigned(lineReply(ask.Pull, lines[2:]...)), nil, noise(500),
	} {
		f.Add(reply)
	}
	f.Fuzz(func(t *testing.T, reply []byte) {
		batch := syncd.OpenReply(journaltest.Site(), ask, reply)
		for _, run := range batch.Runs {
			require.NotEmpty(t, run.Lines)
			require.NoError(t, run.Lines[len(run.Lines)-1].CheckSignature())
			for _, v := range run.Lines {
				require.Contains(t, [][]byte{lines[2].Signed(), lines[3].Signed(), lines[4].Signed(), lines[5].Signed()}, v.Signed())
			}
		}
	})
}

// Whatever is asked, the answer can be read, keeps to its size, and holds lines
// of the log alone.
func FuzzAnswer(f *testing.F) {
	lines := feed(1, 9)
	m := newMember(f, 1).lacks(lines, 5)
	for _, pull := range []syncd.Pull{
		{Tip: lines[8].Ref(), From: 1, Max: 99999}, {Tip: lines[8].Ref(), From: 6, Prev: lines[4].Hash().Short()},
		{Tip: lines[4].Ref(), From: 1, Max: 1}, {Tip: lines[8].Ref(), From: 1 << 53, Max: 1 << 50},
	} {
		f.Add(pull.Encode())
	}
	f.Fuzz(func(t *testing.T, request []byte) {
		reply := m.peer().answer(request)
		require.LessOrEqual(t, len(reply), syncd.MaxReply+256)
		head, body, _ := bytes.Cut(reply, []byte{'\n'})
		require.Contains(t, string(head), `{"v":1,"feed":"`)
		if len(body) == 0 {
			return
		}
		pull, err := syncd.DecodePull(request)
		require.NoError(t, err)
		pull.Max = syncd.MaxReply
		batch := syncd.OpenReply(journaltest.Site(), syncd.Ask{Pull: pull}, reply)
		require.Equal(t, bytes.Count(body, []byte{'\n'})+1, batch.Lines())
	})
}
