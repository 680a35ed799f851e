package bus

import (
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"errors"
	"fmt"
	"iter"
	"slices"
	"sync"

	"pairwalk/events"
	"pairwalk/events/journal/journaltest"
	"pairwalk/events/seal"
	"pairwalk/syncd"
)

// roster is who belongs to the made-up site; all members of a test share it.
type roster struct {
	mu   sync.Mutex
	away map[events.Key]string // members, and why they may not come in, if so
}

func (r *roster) admits(k events.Key) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	why, ok := r.away[k]
	if !ok {
		why = "is no member of this site"
	}
	if why != "" {
		return errors.New(why)
	}
	return nil
}

// hand is a member in memory: a log of notes, and the exchange's own machine.
type hand struct {
	name   string
	key    ed25519.PrivateKey
	author *journaltest.Author
	joined []byte
	roster *roster

	mu       sync.Mutex
	log      notebook
	exchange *syncd.Exchange
	ticks    int64
	watchers map[chan struct{}]bool
	refusals []string
	compared map[events.Key]int
	full     error      // what Answered fails with
	here     []uint64   // replies that came and are not kept, in their order
	kept     *sync.Cond // one of them is
}

var _ Party = (*hand)(nil)

func busKey(seed uint64) ed25519.PrivateKey {
	sum := sha256.Sum256(fmt.Appendf(nil, "bus key of hand %d", seed))
	return ed25519.NewKeyFromSeed(sum[:])
}

func keyText(k ed25519.PrivateKey) events.Key { return events.KeyOf(publicOf(k)) }

// hire makes a member whose log begins with its join.
func (r *roster) hire(name string, seed uint64) *hand {
	h := r.stranger(name, seed)
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.away == nil {
		r.away = map[events.Key]string{}
	}
	r.away[h.id()] = ""
	return h
}

// stranger has keys and a log, and is nobody's member.
func (r *roster) stranger(name string, seed uint64) *hand {
	h := &hand{
		name: name, key: busKey(seed), author: journaltest.NewAuthor(seed), roster: r,
		log: notebook{}, watchers: map[chan struct{}]bool{}, compared: map[events.Key]int{},
	}
	h.kept = sync.NewCond(&h.mu)
	h.exchange = syncd.NewExchange(journaltest.Site(), h.log, func(events.Key) bool { return true })
	join := h.author.Say(events.MemberJoined{
		Name: name, Role: events.Tech, Key: events.KeyOf(publicOf(h.author.Key)), Bus: h.id(),
		Root: events.KeyOf(publicOf(journaltest.RootKey())), Proof: events.Sign(h.key, []byte("any")),
	})
	h.log.add(join)
	h.joined = join.Line()
	return h
}

func (h *hand) id() events.Key { return keyText(h.key) }

// notes adds entries to a member's own log.
func (h *hand) notes(n int) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for range n {
		h.log.add(h.author.Note("remark"))
	}
	h.signal()
}

// carries gives a member the logs of others who are not here.
func (h *hand) carries(n int) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for i := range n {
		for _, v := range journaltest.NewAuthor(uint64(500 + i)).Notes(3) {
			h.log.add(v)
		}
	}
}

func (h *hand) signal() {
	for w := range h.watchers {
		select {
		case w <- struct{}{}:
		default:
		}
	}
}

// bar makes somebody no member any more, and lets these see it in their logs.
func (r *roster) bar(k events.Key, why string, seen ...*hand) {
	r.mu.Lock()
	r.away[k] = why
	r.mu.Unlock()
	for _, h := range seen {
		h.mu.Lock()
		h.signal()
		h.mu.Unlock()
	}
}

func (h *hand) BusKey() ed25519.PrivateKey { return h.key }
func (h *hand) Joined() []byte             { return h.joined }
func (h *hand) NameOf(k events.Key) string { return k.Short() }
func (h *hand) Trusts(k events.Key) bool   { return h.roster.admits(k) == nil }

func (h *hand) Admits(k events.Key, joined []byte) error {
	if len(joined) == 0 {
		return errors.New("showed no join")
	}
	return h.roster.admits(k)
}

func (h *hand) Refused(from, why string, k events.Key) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.refusals = append(h.refusals, why)
}

func (h *hand) Stamp() events.Stamp {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.ticks++
	return events.Stamp{
		Wall: events.Wall{At: events.Instant(1_772_438_400_000 + h.ticks)},
		Mono: events.Mono{Boot: "boot-" + h.name, Ms: h.ticks},
	}
}

func (h *hand) Watch() (<-chan struct{}, func()) {
	w := make(chan struct{}, 1)
	h.mu.Lock()
	defer h.mu.Unlock()
	h.watchers[w] = true
	return w, func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.watchers, w)
	}
}

func everyone(events.Key) bool { return true }

func (h *hand) Have() syncd.Have {
	h.mu.Lock()
	defer h.mu.Unlock()
	return syncd.HaveOf(h.log, everyone)
}

func (h *hand) Answer(pull, room []byte) []byte {
	h.mu.Lock()
	defer h.mu.Unlock()
	return syncd.Answer(h.log, everyone, pull, room)
}

func (h *hand) answer(pull []byte) []byte { return h.Answer(pull, nil) }

func (h *hand) Hear(k events.Key, have syncd.Have, asked events.Stamp) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if asked == noStamp {
		h.exchange.Grown(k, have)
		return
	}
	h.exchange.Hear(k, have)
}

func (h *hand) Left(k events.Key) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.exchange.Left(k)
}

func (h *hand) Asks() []syncd.Ask {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.exchange.Asks()
}

func (h *hand) Came(ask syncd.Ask, reply []byte) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.exchange.Came(ask.ID, reply)
	h.here = append(h.here, ask.ID)
}

func (h *hand) Answered(_ context.Context, ask syncd.Ask, reply []byte) (syncd.Got, error) {
	b := syncd.OpenReply(journaltest.Site(), ask, reply)
	h.mu.Lock()
	defer h.mu.Unlock()
	for h.here[0] != ask.ID {
		h.kept.Wait()
	}
	h.here = h.here[1:]
	h.kept.Broadcast()
	if h.full != nil {
		h.exchange.Unanswered(ask.ID)
		return syncd.Got{}, h.full
	}
	fresh := 0
	for _, run := range b.Runs {
		for _, v := range run.Lines {
			fresh += h.log.add(v)
		}
	}
	if fresh > 0 {
		h.signal()
	}
	return syncd.Got{Fresh: fresh}, h.exchange.Took(b, fresh)
}

func (h *hand) Unanswered(ask syncd.Ask) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.exchange.Unanswered(ask.ID)
}

func (h *hand) Compared(_ context.Context, k events.Key, s []syncd.Sample) (bool, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.compared[k] += len(s)
	return false, h.full
}

// comparedWith is how many readings of somebody's clock a member was given.
func (h *hand) comparedWith(o *hand) int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.compared[o.id()]
}

func (h *hand) Towards(k events.Key) syncd.Standing {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.exchange.Towards(k)
}

// notebook is a log in memory, without forks and holes.
type notebook map[events.FeedID][]seal.Verified

func (n notebook) add(v seal.Verified) int {
	if len(n[v.Feed()]) != int(v.Seq())-1 {
		return 0
	}
	n[v.Feed()] = append(n[v.Feed()], v)
	return 1
}

func (n notebook) Tips() []events.Ref {
	var out []events.Ref
	for _, lines := range n {
		out = append(out, lines[len(lines)-1].Ref())
	}
	return out
}

func (n notebook) Holes() map[events.FeedID][]events.Head { return nil }

func (n notebook) Holds(r events.Ref) bool {
	lines := n[r.Feed]
	return r.Seq >= 1 && int(r.Seq) <= len(lines) && lines[r.Seq-1].Ref() == r
}

func (n notebook) HashAt(f events.FeedID, s events.Seq) events.Hash {
	if s < 1 || int(s) > len(n[f]) {
		return events.Hash{}
	}
	return n[f][s-1].Hash()
}

func (n notebook) Descent(of events.Ref, from events.Seq) iter.Seq2[seal.Verified, error] {
	lines := slices.Clone(n[of.Feed])
	return func(yield func(seal.Verified, error) bool) {
		for _, v := range lines {
			if v.Seq() >= from && !yield(v, nil) {
				return
			}
		}
	}
}

func (n notebook) Copies(of events.Ref, from events.Seq) iter.Seq2[events.Seq, []byte] {
	return func(yield func(events.Seq, []byte) bool) {
		for v := range n.Descent(of, from) {
			if !yield(v.Seq(), v.Line()) {
				return
			}
		}
	}
}
