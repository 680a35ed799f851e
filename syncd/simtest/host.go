package simtest

import (
	"crypto/ed25519"
	"encoding/binary"
	"fmt"
	"io"
	"math/rand/v2"
	"time"

	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/syncd"
	"pairwalk/syncd/member"
)

// host is one installation: a device, its disk, and the process on it.
type host struct {
	w      *world
	n      int       // its seat
	secret io.Reader // what it draws its keys from
	name   string
	role   events.Role
	key    events.Key
	bus    events.Key
	clock  clock
	boots  int
	mem    *journal.MemFS

	// of the process that runs
	m         *member.Member // nil while none does
	disk      *disk
	life      int // counts processes
	grew      <-chan struct{}
	published syncd.Have
	talks     map[*host]*talk
	waits     map[*host][]func() // ends requests that are under way
	lying     []func()           // keep replies that have come, the first first

	wakes  func() // starts the process, if none runs
	short  shortage
	like   *host // the device that this one is a copy of
	outlaw bool  // it is no member, or not any more
	token  events.Maybe[invite.Token]
	thief  bool // it came by what was stolen
	robbed bool // its invite was used by a thief
	site   events.SiteID
	lacks  []events.Kind // kinds that it is too old to know
	doubt  bool          // others may complain of it
	rotten int           // bits and ends that were spoilt since the log was last opened
	backup *journal.MemFS
	since  int                 // how often the log was opened since the backup
	files  map[string][]byte   // as the ledger last read them
	held   map[events.Ref]bool // as the ledger knows it; false where only the next line vouches for it
	old    bool                // it was put back to a backup
	shots  map[string]bool     // photos taken here
}

var names = []string{"Ada", "Ben", "Cleo", "Dov", "Eka"}

// newHost is the device of somebody new.
func (w *world) newHost(role events.Role) *host {
	n := w.taken
	w.taken++
	return w.device(n, names[n], role)
}

// device is one out of the box. Most clocks are minutes off, some hours.
func (w *world) device(n int, name string, role events.Role) *host {
	h := &host{w: w, n: n, name: name, role: role, mem: journal.Memory(), files: map[string][]byte{}, held: map[events.Ref]bool{}, shots: map[string]bool{}}
	w.apart(ofHost, n, func() {
		var secret [32]byte
		for i := 0; i < len(secret); i += 8 {
			binary.LittleEndian.PutUint64(secret[i:], w.dice.Uint64())
		}
		h.secret = rand.NewChaCha8(secret)
		off := w.between(-4*time.Minute, 4*time.Minute)
		if w.dice.IntN(5) == 0 {
			off = w.between(-3*time.Hour, 3*time.Hour)
		}
		h.clock = clock{boot: boot{from: w.now, ppm: w.dice.Int64N(401) - 200}, base: int64(w.now)}
		h.clock.set(off)
		h.boot(w.between(time.Minute, 20*time.Hour))
	})
	return h
}

// has says whether an entry is on its disk.
func (h *host) has(ref events.Ref) bool {
	_, there := h.held[ref]
	return there
}

// gained counts the entries that are on its disk and were not before, or were
// damaged.
func (h *host) gained(before map[events.Ref]bool) int {
	n := 0
	for ref, sure := range h.held {
		if was, there := before[ref]; !there || sure && !was {
			n++
		}
	}
	return n
}

func (h *host) stamp() events.Stamp { return h.clock.at(h.w.now) }

// boot starts the device, which has been up for a while when anybody looks.
func (h *host) boot(up time.Duration) {
	h.boots++
	h.clock.reboot(h.w.now, fmt.Sprintf("%s-%d", h.name, h.boots), up)
	h.w.boots[h.clock.id] = h.clock.boot
}

// home is the installation as a new process finds it.
func (h *host) home() *member.Home {
	h.disk = newDisk(h.mem, &h.short)
	return member.NewHome(h.disk, member.World{Now: h.stamp, Rand: h.secret, MadeUp: true, Lacks: h.lacks})
}

// runs is a process at work.
func (h *host) runs(m *member.Member) {
	h.life++
	h.m, h.site = m, m.Info().ID
	h.key, h.bus = m.Key(), events.KeyOf(m.BusKey().Public().(ed25519.PublicKey))
	h.talks, h.waits, h.lying, h.published = map[*host]*talk{}, map[*host][]func(){}, nil, syncd.Have{}
	h.grew, _ = m.Watch()
	h.w.ledger.confirm(h)
	if h.w.broken == nil {
		h.arrives()
	}
}

// arrives is how the others learn of a process that has just begun.
func (h *host) arrives() {
	h.published = h.m.Have()
	h.shout(nil)
	for _, p := range h.w.others(h) {
		if h.w.link(h, p).up {
			h.finds(p)
		}
	}
	life := h.life
	var beat func()
	beat = func() {
		if h.life == life && h.m != nil {
			h.beat()
			h.after()
			h.w.later(h.w.pulse, beat)
		}
	}
	h.w.later(h.w.pulse, beat)
}

// starts opens the site in a new process.
func (h *host) starts() {
	if h.m != nil {
		return
	}
	home := h.home()
	if h.w.allows(MidCall, 100) {
		h.lights()
	}
	m, err := home.Open("")
	switch {
	case h.disk.dead:
		h.rotten = 0 // half of it is mended, perhaps
		h.burnt()
	case err != nil && h.disk.said > 0:
		h.w.tell("%s can't open its log: %v", h.name, err)
		h.rotten = 0
		h.disk.kill()
		h.back(false)
	case err != nil:
		h.w.breaks(Opens, "%s can't open its log: %v", h.name, err)
	default:
		h.since++
		h.w.tell("%s opens the log", h.name)
		h.ownsUp(m)
		h.runs(m)
	}
}

// wrote is what follows a call that may have written: it says whether all is
// well, and sees that what was acknowledged is there.
func (h *host) wrote(what string, err error) bool {
	if err != nil && !h.disk.dead && h.disk.said > 0 {
		h.w.tell("%s can't %s: %v", h.name, what, err)
		h.stuck()
		return false
	}
	if err != nil && !h.disk.dead {
		h.w.breaks(Recorded, "%s can't %s: %v", h.name, what, err)
	}
	if err != nil || h.w.broken != nil {
		return false
	}
	h.w.ledger.confirm(h)
	return true
}

// after follows everything a process did: it may have died of it, or have news.
func (h *host) after() {
	switch {
	case h.m == nil:
	case h.disk.dead:
		h.burnt()
	default:
		select {
		case <-h.grew:
			h.publish()
		default:
		}
	}
}
