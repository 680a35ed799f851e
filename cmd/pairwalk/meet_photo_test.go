package main

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	mathrand "math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/syncd"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
)

// showing counts the pieces of pictures that a member hands out.
type showing struct{ *counting }

func (s showing) ShowPiece(peer events.Key, question []byte) []byte {
	reply := s.Member.ShowPiece(peer, question)
	s.passed(reply)
	return reply
}

const photoBytes = 3 << 20

// TestTheAskerKilledAmongPictures kills the process that fetches pictures, again
// and again.
func TestTheAskerKilledAmongPictures(t *testing.T) {
	d := newDesk(t)
	require.NoError(t, d.joins("Bo").Close())
	const photos = 4
	for range photos {
		b := make([]byte, photoBytes)
		_, _ = rand.Read(b)
		sum := sha256.Sum256(b)
		p := events.Picture{SHA256: hex.EncodeToString(sum[:]), Bytes: photoBytes, Type: "image/jpeg"}
		require.NoError(t, d.ann.KeepPicture(p, b))
		_, err := d.ann.Record(t.Context(), member.Entry{Payload: events.PhotoAdded{Of: events.Site(), Picture: p}})
		require.NoError(t, err)
	}
	ann := showing{&counting{Member: d.ann}}
	b, err := bus.Open(t.Context(), ann, bus.Options{Listen: "127.0.0.1:0"})
	require.NoError(t, err)
	defer b.Close()
	seed := mathrand.Uint64()
	t.Logf("seed %d", seed)
	r := mathrand.New(mathrand.NewPCG(seed, 1))
	const kills = 8
	for range kills {
		ann.after(1 + r.IntN(3*syncd.MaxPiece))
		c := d.command(t.Context(), "bo", "sync", b.Addrs()[0])
		require.NoError(t, c.Start())
		<-ann.hit
		require.NoError(t, c.Process.Kill())
		require.Error(t, c.Wait(), "killed")
	}
	out := d.run("bo", "sync", b.Addrs()[0])
	require.Contains(t, out, "the same now")
	require.NotContains(t, out, "not here yet")
	t.Logf("%d kills; %d bytes of pieces served for %d bytes of pictures", kills, ann.bytes, photos*photoBytes)
	require.LessOrEqual(t, ann.bytes-photos*photoBytes, (kills+1)*(syncd.MaxPiece+framing), "nothing twice beyond one piece each")
	bo, err := d.home("bo").Open("")
	require.NoError(t, err)
	defer bo.Close()
	lost, err := bo.CheckPictures()
	require.NoError(t, err)
	require.Empty(t, lost)
	require.Equal(t, photos, bo.Pictures(projection.Moment{}).Held)
}
