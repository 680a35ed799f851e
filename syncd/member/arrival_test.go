package member_test

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal"
	"pairwalk/projection"
	"pairwalk/syncd"
	"pairwalk/syncd/member"
)

// come asks another for so many replies ahead, none of which is taken in yet.
func (d *device) come(from *device, n int) (asks []syncd.Ask, replies [][]byte) {
	for range n {
		next := d.Asks()
		require.Len(d.team.t, next, 1)
		reply := from.Answer(next[0].Pull.Encode(), nil)
		d.Came(next[0], reply)
		asks, replies = append(asks, next[0]), append(replies, reply)
	}
	return asks, replies
}

// farApart are two who hold the same but for a long log of the first's.
func farApart(t *testing.T) (ada, ben *device) {
	_, ada, ben = pairOf(t)
	for i := range 300 {
		ada.log(events.NoteAdded{Of: events.Site(), Text: fmt.Sprint(strings.Repeat("long ", 700), i)})
	}
	ben.hears(ada)
	return ada, ben
}

// Replies that come while others are kept are kept in their order, whoever opens
// them first; each is counted for the one that brought it.
func TestRepliesAreKeptInTheirOrder(t *testing.T) {
	ada, ben := farApart(t)
	asks, replies := ben.come(ada, 3)
	fresh := make([]int, len(asks))
	var work sync.WaitGroup
	for i := len(asks) - 1; i >= 0; i-- {
		work.Go(func() {
			got, err := ben.Answered(t.Context(), asks[i], replies[i])
			require.NoError(t, err)
			fresh[i] = got.Fresh
		})
	}
	work.Wait()
	for i := range asks {
		require.Equal(t, strings.Count(string(replies[i]), "\n"), fresh[i], "reply %d", i)
	}
	_, rest := ben.fetches(ada)
	require.Equal(t, 300, fresh[0]+fresh[1]+fresh[2]+rest)
	require.True(t, ben.Have().Same(ada.Have()))
	require.Equal(t, ada.status(projection.Moment{}), ben.status(projection.Moment{}))
	ben.reopen()
	require.True(t, ben.Have().Same(ada.Have()), "and all of it is on disk")
}

// filling is a disk that takes nothing more once it is full.
type filling struct {
	*journal.MemFS
	full atomic.Bool
}

func (f *filling) Append(name string) (journal.File, error) {
	if f.full.Load() {
		return nil, errors.New("no space left")
	}
	return f.MemFS.Append(name)
}

// Where the disk takes nothing, none of what waits for it is kept, nobody is blamed,
// and after opening again all of it comes.
func TestRepliesThatWaitForADiskThatFails(t *testing.T) {
	ada, ben := farApart(t)
	require.NoError(t, ben.Close())
	disk := &filling{MemFS: ben.fs}
	m, err := member.NewHome(disk, member.World{Now: ben.stamp, Rand: ben.team.rand, MadeUp: true}).Open("")
	require.NoError(t, err)
	ben.Member = m
	ben.hears(ada)
	asks, replies := ben.come(ada, 3)
	before := ben.Have()
	disk.full.Store(true)
	for i := range asks {
		got, err := ben.Answered(t.Context(), asks[i], replies[i])
		require.ErrorContains(t, err, "no space left")
		var blame *syncd.Complaint
		require.False(t, errors.As(err, &blame))
		require.Zero(t, got)
	}
	require.True(t, ben.Have().Same(before))
	require.Zero(t, ben.Towards(ada.bus()).Complaints)
	ben.reopen()
	ben.meets(ada)
}

// A peer's questions are answered while another question, however long it takes, is
// worked on: here one that waits for a clock.
func TestPeersAreAnsweredWhileOthersAsk(t *testing.T) {
	ada, ben := farApart(t)
	require.NoError(t, ada.Close())
	var slow atomic.Bool
	looking, shown := make(chan struct{}), make(chan struct{})
	m, err := member.NewHome(ada.fs, member.World{Rand: ada.team.rand, MadeUp: true, Now: func() events.Stamp {
		if slow.Swap(false) {
			close(looking)
			<-shown
		}
		return ada.stamp()
	}}).Open("")
	require.NoError(t, err)
	ada.Member = m
	asks := ben.Asks()
	require.Len(t, asks, 1)
	ada.Now() // folded before, so that the clock is all that is waited for
	slow.Store(true)
	var work sync.WaitGroup
	work.Go(func() {
		_, err := ada.Settle()
		require.NoError(t, err)
	})
	<-looking
	reply, have := ada.Answer(asks[0].Pull.Encode(), nil), ada.Have()
	close(shown)
	work.Wait()
	require.NotEmpty(t, have.Tips)
	got, err := ben.Answered(t.Context(), asks[0], reply)
	require.NoError(t, err)
	require.Positive(t, got.Fresh)
}

// A newcomer leaves once a lead's device says that it has everything of theirs and has
// nothing else. So nobody is told of a join there before the lead's word on it.
func TestNobodyIsToldOfAJoinBeforeTheLeadsWord(t *testing.T) {
	x := newTeam(t)
	for i := range 8 {
		ben := x.joins(fmt.Sprint("ben", i), events.Tech)
		x.lead.hears(ben)
		asks := x.lead.Asks()
		require.NotEmpty(t, asks)
		var replies [][]byte
		for _, a := range asks {
			replies = append(replies, ben.Answer(a.Pull.Encode(), nil))
		}
		own := x.lead.log(events.NoteAdded{Of: events.Site(), Text: "asked ben in"})[0]
		done := make(chan struct{})
		go func() {
			defer close(done)
			for j, a := range asks {
				_, err := x.lead.Answered(t.Context(), a, replies[j])
				if err != nil {
					t.Error(err)
				}
			}
		}()
		for told := false; !told; {
			have := x.lead.Have()
			if told = tipOf(have, asks[0].Pull.Tip.Feed) > 0; told {
				require.Greater(t, tipOf(have, own.Feed), own.Seq, "the lead's word")
			}
		}
		<-done
	}
}

// tipOf is how far a feed is held.
func tipOf(h syncd.Have, feed events.FeedID) events.Seq {
	for _, tip := range h.Tips {
		if tip.Feed == feed {
			return tip.Seq
		}
	}
	return 0
}
