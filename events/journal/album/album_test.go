package album_test

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/events/journal/album"
	"pairwalk/events/journal/journaltest"
)

// photo is content of so many bytes, and its name.
func photo(seed byte, size int) (string, []byte) {
	b := make([]byte, size)
	for i := range b {
		b[i] = seed + byte(i*7) + byte(i>>8)
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:]), b
}

func opened(t *testing.T, at journal.FS) *album.Album {
	t.Helper()
	a, err := album.Open(at)
	require.NoError(t, err)
	return a
}

func file(name string) string { return "pictures/" + name }

// requireTrue says that whatever stands under a picture's name is that picture.
func requireTrue(t *testing.T, at *journal.MemFS, where string) {
	t.Helper()
	for _, f := range at.Files() {
		name, _ := strings.CutPrefix(f, "pictures/")
		if strings.Contains(name, ".") || name == f {
			continue
		}
		b, err := at.Read(f)
		require.NoError(t, err)
		sum := sha256.Sum256(b)
		require.Equal(t, name, hex.EncodeToString(sum[:]), where)
	}
}

func TestAPictureIsKeptUnderItsContentsName(t *testing.T) {
	at := journal.Memory()
	a := opened(t, at)
	name, b := photo(1, 5000)
	_, err := a.Read(name)
	require.ErrorIs(t, err, fs.ErrNotExist)
	require.NoError(t, a.Put(name, b))
	require.ErrorIs(t, a.Put(name, b[1:]), album.ErrWrong)
	big, content := photo(2, events.MaxPicture+1)
	require.ErrorIs(t, a.Put(big, content), album.ErrTooLarge)
	for _, a := range []*album.Album{a, opened(t, at)} {
		got, err := a.Read(name)
		require.NoError(t, err)
		require.Equal(t, b, got)
		require.Equal(t, []string{name}, a.List())
		require.False(t, a.Holds(big))
		for _, odd := range []string{"", "x", "../keys.json", name[1:], strings.ToUpper(name)} {
			_, err := a.Read(odd)
			require.ErrorIs(t, err, fs.ErrNotExist, odd)
			require.Error(t, a.Append(odd, 0, b), odd)
		}
	}
	at.Crash(journal.Loss{})
	got, err := opened(t, at).Read(name)
	require.NoError(t, err, "it was durable")
	require.Equal(t, b, got)
}

func TestPiecesMakeAPicture(t *testing.T) {
	at := journal.Memory()
	a := opened(t, at)
	name, b := photo(1, 1000)
	require.NoError(t, a.Append(name, 0, b[:400]))
	require.Equal(t, int64(400), a.Got(name))
	require.Error(t, a.Append(name, 401, b[401:]), "a gap")
	require.Equal(t, int64(400), opened(t, at).Got(name), "whoever comes later goes on from there")
	a = opened(t, at)
	require.NoError(t, a.Append(name, 300, b[300:900]), "some bytes once more")
	require.Equal(t, int64(900), a.Got(name))
	require.ErrorIs(t, a.Append(name, 900, make([]byte, events.MaxPicture)), album.ErrTooLarge)
	require.NoError(t, a.Append(name, 900, b[900:]))
	require.False(t, a.Holds(name), "not before it was compared")
	require.NoError(t, a.Finish(name, 1000))
	got, err := a.Read(name)
	require.NoError(t, err)
	require.Equal(t, b, got)
	require.Zero(t, a.Got(name))
	require.Equal(t, []string{file(name)}, at.Files())
	piece, of, err := a.Piece(name, 990, 400)
	require.NoError(t, err)
	require.Equal(t, int64(1000), of)
	require.Equal(t, b[990:], piece)
	piece, of, err = a.Piece(name, 1001, 400)
	require.NoError(t, err)
	require.Equal(t, int64(1000), of)
	require.Empty(t, piece)
}

func TestAWrongPartIsThrownAway(t *testing.T) {
	at := journal.Memory()
	a := opened(t, at)
	name, b := photo(1, 1000)
	other, _ := photo(2, 1000)
	for why, part := range map[string][]byte{"too few": b[:999], "too many": append(b[:1000:1000], 0), "others": append([]byte{9}, b[1:]...)} {
		require.NoError(t, a.Append(name, 0, part))
		require.ErrorIs(t, a.Finish(name, 1000), album.ErrWrong, why)
		require.False(t, a.Holds(name))
		require.Zero(t, a.Got(name))
	}
	require.ErrorIs(t, a.Finish(other, 1000), album.ErrWrong, "of which nothing is here")
	require.Empty(t, at.Files())
}

func TestAFlippedByteIsFoundAndHealed(t *testing.T) {
	at := journal.Memory()
	a := opened(t, at)
	name, b := photo(1, 5000)
	require.NoError(t, a.Put(name, b))
	_, _, err := a.Piece(name, 0, 10) // somebody fetches it, and it is in memory
	require.NoError(t, err)
	at.Put(file(name), append([]byte{b[0] ^ 1}, b[1:]...))
	require.True(t, a.Holds(name), "nobody has looked")
	lost, err := a.Check()
	require.NoError(t, err)
	require.Equal(t, []string{name}, lost)
	_, err = a.Read(name)
	require.ErrorIs(t, err, album.ErrDamaged)
	require.ErrorIs(t, err, fs.ErrNotExist)
	_, _, err = a.Piece(name, 0, 10)
	require.ErrorIs(t, err, album.ErrDamaged, "nor is it handed on")
	for _, a := range []*album.Album{a, opened(t, at)} {
		require.False(t, a.Holds(name))
		require.True(t, a.Damaged(name))
	}
	require.NoError(t, a.Append(name, 0, b))
	require.NoError(t, a.Finish(name, 5000))
	require.True(t, a.Holds(name))
	require.False(t, a.Damaged(name))
	require.Equal(t, []string{file(name)}, at.Files(), "the damaged one is not kept for ever")
	require.NoError(t, at.Remove(file(name)))
	_, err = a.Read(name)
	require.ErrorIs(t, err, fs.ErrNotExist)
	require.False(t, a.Holds(name), "somebody took it away")
}

// Many pictures fetched at a time do not fill the memory, and come out right.
func TestPiecesOfManyPictures(t *testing.T) {
	a := opened(t, journal.Memory())
	var names []string
	for seed := range 5 {
		name, b := photo(byte(seed), 9<<20)
		require.NoError(t, a.Put(name, b))
		names = append(names, name)
	}
	for from := int64(0); from < 9<<20; from += 4 << 20 {
		for seed, name := range names {
			_, b := photo(byte(seed), 9<<20)
			piece, _, err := a.Piece(name, from, 100)
			require.NoError(t, err)
			require.Equal(t, b[from:from+100], piece)
		}
	}
}

// fetch does what is done with a picture on its way, and with one taken here, and
// stops at the first error.
func fetch(at journal.FS) error {
	a, err := album.Open(at)
	if err != nil {
		return err
	}
	own, mine := photo(3, 700)
	if err := a.Put(own, mine); err != nil {
		return err
	}
	name, b := photo(1, 1000)
	if a.Holds(name) {
		_, err := a.Read(name)
		return err
	}
	for from := a.Got(name); from < 1000; from = a.Got(name) {
		if err := a.Append(name, from, b[from:min(from+300, 1000)]); err != nil {
			return err
		}
	}
	if err := a.Finish(name, 1000); err != nil {
		return err
	}
	_, err = a.Read(name)
	return err
}

// goesOn opens the album as it was left. A torn part may come out wrong once.
func goesOn(t *testing.T, at *journal.MemFS, where string) {
	t.Helper()
	requireTrue(t, at, where)
	if err := fetch(at); err != nil {
		require.ErrorIs(t, err, album.ErrWrong, where)
		require.NoError(t, fetch(at), where)
	}
	requireTrue(t, at, where)
	own, _ := photo(3, 700)
	name, _ := photo(1, 1000)
	require.ElementsMatch(t, []string{file(own), file(name)}, at.Files(), where)
}

func TestAFaultAtEveryCallInTurn(t *testing.T) {
	var count journaltest.Trap
	require.NoError(t, fetch(journaltest.Faulty(journal.Memory(), &count)))
	require.Greater(t, count.Calls, 20)
	for _, how := range []journaltest.How{journaltest.Undone, journaltest.Halfway, journaltest.Done} {
		for _, good := range []bool{false, true} {
			for n := 1; n <= count.Calls; n++ {
				where := fmt.Sprintf("call %d of %d %s, for good %v", n, count.Calls, how, good)
				at := journal.Memory()
				trap := journaltest.Trap{N: n, How: how, Good: good}
				_ = fetch(journaltest.Faulty(at, &trap)) // some calls may fail without harm
				goesOn(t, at.Clone(), where)
				for _, loss := range []journal.Loss{{}, {KeepBytes: 200}, {KeepNames: true}, {KeepNames: true, KeepBytes: 200}} {
					cut := journal.Memory()
					trap := journaltest.Trap{N: n, How: how, Good: good}
					_ = fetch(journaltest.Faulty(cut, &trap))
					cut.Crash(loss)
					goesOn(t, cut, where+fmt.Sprintf(", then the power goes: %+v", loss))
				}
			}
		}
	}
}

// What a full disk took half of is no harm, and goes on when there is room.
func TestAFullDisk(t *testing.T) {
	at := journal.Memory()
	trap := journaltest.Trap{}
	a := opened(t, journaltest.Faulty(at, &trap))
	name, b := photo(1, 1000)
	require.NoError(t, a.Append(name, 0, b[:300]))
	trap.Full = true
	require.ErrorIs(t, a.Append(name, 300, b[300:600]), journaltest.ErrFault)
	trap.Full = false
	require.Equal(t, int64(450), a.Got(name), "half of the piece came through")
	require.NoError(t, a.Append(name, 450, b[450:]))
	trap.Full = true
	require.ErrorIs(t, a.Finish(name, 1000), journaltest.ErrFault)
	require.False(t, a.Holds(name))
	trap.Full = false
	require.NoError(t, a.Finish(name, 1000), "nothing is fetched again")
	requireTrue(t, at, "in the end")
}
