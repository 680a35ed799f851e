package bus

import (
	"bytes"
	"strings"
	"sync"

	"github.com/nats-io/nats.go/micro"

	"pairwalk/events"
	"pairwalk/syncd"
)

// Everyone who asks has a queue and a goroutine of their own on a line, so that
// one who floods waits behind itself alone.
const (
	askersMost    = 256 // on one line
	questionsMost = 16  // waiting, of one asker; more are dropped
)

type question struct {
	what, reply string
	data        []byte
}

// onAsked queues a question, or drops it. All askers share this way in, so what is
// too much is thrown out before anything is spent on it. The answer must go to the
// asker and nobody else: a reply subject is the one thing on the bus that its
// sender may fill in at will.
func (l *line) onAsked(what string, r micro.Request) {
	from := events.Key(token(r.Subject(), 2))
	queue := l.queueOf(from)
	if queue == nil || len(queue) == cap(queue) || !strings.HasPrefix(r.Reply(), inbox(from, l.bus.self, "")) {
		return
	}
	l.bus.meet(from, l)
	select {
	case queue <- question{what, r.Reply(), r.Data()}:
	default:
	}
}

// queueOf is where an asker's questions wait; nil for one too many.
func (l *line) queueOf(from events.Key) chan question {
	l.mu.Lock()
	defer l.mu.Unlock()
	if queue := l.askers[from]; queue != nil {
		return queue
	}
	if _, err := from.Public(); err != nil || from == l.bus.self || len(l.askers) >= askersMost {
		return nil
	}
	queue := make(chan question, questionsMost)
	if !l.bus.spawn(func() { l.answer(from, queue) }) {
		return nil
	}
	l.askers[from] = queue
	return queue
}

// answer answers one asker's questions for as long as the line lasts.
func (l *line) answer(to events.Key, queue <-chan question) {
	for {
		select {
		case <-l.ended:
			return
		case q := <-queue:
			room := rooms.Get().(*[]byte)
			if err := l.nc.Publish(q.reply, l.bus.answer(to, q, room)); err != nil {
				l.bus.log.Debug("bus line", "addr", l.addr, "not answered", q.what, "why", err)
			}
			rooms.Put(room)
		}
	}
}

// rooms are where replies to pulls are written, again and again: Publish copies what
// it sends.
var rooms = sync.Pool{New: func() any { return new([]byte) }}

func (b *Bus) answer(to events.Key, q question, room *[]byte) []byte {
	switch q.what {
	case askHave:
		return b.party.Have().Encode()
	case askClock:
		return syncd.AnswerClock(b.party.Stamp)
	case askHeld:
		return b.pictures.ShowHeld(q.data)
	case askPiece:
		return b.pictures.ShowPiece(to, q.data)
	}
	*room = b.party.Answer(q.data, *room)
	b.gave(to, bytes.Count(*room, []byte{'\n'})) // each line comes after a line feed
	return *room
}
