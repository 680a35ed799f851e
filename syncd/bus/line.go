package bus

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/micro"

	"pairwalk/events"
)

// Bounds of a line, for a peer that floods.
const (
	drainWithin = 2 * time.Second
	inboxMsgs   = 1024
	inboxBytes  = 32 << 20
	queueMsgs   = 8192
	queueBytes  = 8 << 20
)

var (
	errEnded  = errors.New("the line has ended")
	errNobody = errors.New("nobody answers to that key")
)

// line is one connection to a bus.
type line struct {
	bus    *Bus
	addr   string // "" for our own server's
	server events.Key
	nc     *nats.Conn
	ended  chan struct{}
	once   sync.Once

	mu      sync.Mutex
	waiting map[string]chan *nats.Msg // by inbox
	askers  map[events.Key]chan question
	why     string // why we ended it, if we did
}

func newLine(b *Bus, addr string) *line {
	return &line{bus: b, addr: addr, ended: make(chan struct{}), waiting: map[string]chan *nats.Msg{}, askers: map[events.Key]chan question{}}
}

func (l *line) end() { l.once.Do(func() { close(l.ended) }) }

// at is the line's address, for people.
func (l *line) at() string {
	if l.addr == "" {
		return l.bus.hub.addrs()[0]
	}
	return l.addr
}

// open listens to all that we may hear, offers our endpoints, and only then says
// that we are here.
func (l *line) open() error {
	self := l.bus.self
	err := errors.Join(
		l.listen(inbox(self, anybody, "*"), l.onAnswer, inboxMsgs, inboxBytes),
		l.listen(toAll(sayHere, anybody), l.onHere, queueMsgs, queueBytes),
		l.listen(toAll(sayChanged, anybody), l.onChanged, queueMsgs, queueBytes),
		l.listen(toAll(sayGone, anybody), l.onGone, queueMsgs, queueBytes),
		l.offer(),
	)
	if err == nil {
		err = l.nc.FlushTimeout(dialWithin)
	}
	if err != nil {
		l.nc.Close()
		return fmt.Errorf("open line: %w", err)
	}
	return nil
}

func (l *line) listen(subject string, f nats.MsgHandler, msgs, bytes int) error {
	sub, err := l.nc.Subscribe(subject, f)
	if err != nil {
		return err
	}
	return sub.SetPendingLimits(msgs, bytes)
}

// offer answers to what others ask. The $SRV subscriptions that micro makes
// besides are refused by the server, which is as it should be.
func (l *line) offer() error {
	svc, err := micro.AddService(l.nc, micro.Config{Name: "pairwalk", Version: "1.0.0", QueueGroupDisabled: true})
	if err != nil {
		return err
	}
	ears := asked[:]
	if l.bus.pictures != nil {
		ears = slices.Concat(ears, shown[:])
	}
	for _, what := range ears {
		err = errors.Join(err, svc.AddEndpoint(what, micro.HandlerFunc(func(r micro.Request) { l.onAsked(what, r) }),
			micro.WithEndpointSubject(request(l.bus.self, anybody, what)), micro.WithEndpointPendingLimits(queueMsgs, queueBytes)))
	}
	return err
}

// say publishes to everybody on the bus. A line that is gone loses it, as do
// those who are not there: they ask when they come.
func (l *line) say(what string, payload []byte) {
	if err := l.nc.Publish(toAll(what, l.bus.self), payload); err != nil {
		l.bus.log.Debug("bus line", "addr", l.addr, "not said", what, "why", err)
	}
}

// ask asks a peer and waits for its answer, until ctx or the line ends. The token
// is drawn anew each time: only whoever was asked can know where to answer.
func (l *line) ask(ctx context.Context, to events.Key, what string, payload []byte) ([]byte, error) {
	reply := inbox(l.bus.self, to, rand.Text())
	answer := make(chan *nats.Msg, 1)
	l.mu.Lock()
	l.waiting[reply] = answer
	l.mu.Unlock()
	defer func() {
		l.mu.Lock()
		delete(l.waiting, reply)
		l.mu.Unlock()
	}()
	if err := l.nc.PublishRequest(request(to, l.bus.self, what), reply, payload); err != nil {
		return nil, errors.Join(errEnded, err)
	}
	select {
	case m := <-answer:
		if len(m.Data) == 0 && m.Header.Get("Status") == "503" {
			return nil, errNobody
		}
		return m.Data, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	case <-l.ended:
		return nil, errEnded
	}
}

// onAnswer gives an answer to whoever waits for it. An answer to our hello tells
// only that its sender is here.
func (l *line) onAnswer(m *nats.Msg) {
	if token(m.Subject, 3) == hello {
		if from, ok := senderOf(m.Subject, 2, l.bus.self); ok {
			l.bus.meet(from, l)
		}
		return
	}
	l.mu.Lock()
	answer := l.waiting[m.Subject]
	l.mu.Unlock()
	if answer == nil {
		return // too late, or never asked
	}
	select {
	case answer <- m:
	default: // answered twice
	}
}

func (l *line) onHere(m *nats.Msg) {
	from, ok := senderOf(m.Subject, 1, l.bus.self)
	if !ok {
		return
	}
	p := l.bus.meet(from, l)
	if p == nil {
		return
	}
	p.anew(l)
	p.nudge()
	if !p.greets(l) {
		return
	}
	if err := l.nc.Publish(inbox(from, l.bus.self, hello), nil); err != nil {
		l.bus.log.Debug("bus line", "addr", l.addr, "no hello", err)
	}
}

func (l *line) onChanged(m *nats.Msg) {
	if from, ok := senderOf(m.Subject, 1, l.bus.self); ok {
		if p := l.bus.meet(from, l); p != nil {
			p.grew(m.Data)
		}
	}
}

func (l *line) onGone(m *nats.Msg) {
	if from, ok := senderOf(m.Subject, 1, l.bus.self); ok {
		l.bus.part(from, l)
	}
}

// cut ends the line at once, and remembers why.
func (l *line) cut(why string) {
	l.mu.Lock()
	l.why = why
	l.mu.Unlock()
	l.nc.Close()
}

// close ends the line once what was sent and what is being answered is through.
func (l *line) close() {
	if err := l.nc.Drain(); err != nil {
		l.nc.Close()
	}
	t := time.NewTimer(2 * drainWithin)
	defer t.Stop()
	select {
	case <-l.ended:
	case <-t.C:
		l.nc.Close()
		<-l.ended
	}
}

// over says why the line ended.
func (l *line) over() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.why != "" {
		return l.why
	}
	switch err := l.nc.LastError(); {
	case err == nil, errors.Is(err, io.EOF), errors.Is(err, nats.ErrStaleConnection), strings.Contains(err.Error(), "Permissions Violation"):
		return "the link broke, or the other end is gone"
	default:
		return plain(err)
	}
}
