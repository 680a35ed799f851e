package bus

import (
	"sync/atomic"
	"testing"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/syncd"
)

// meeting is Ann's server with Ben on it, and Kim's key in the hands of an imp.
type meeting struct {
	a, b *desk
	kim  *hand
	imp  *nats.Conn
}

func meets(t *testing.T, p pace) meeting {
	var site roster
	m := meeting{a: site.hire("Ann", 1).sitsAt(t, "127.0.0.1:0", p), b: site.hire("Ben", 2).sitsAt(t, "", p), kim: site.hire("Kim", 3)}
	m.kim.notes(3)
	m.b.Call(m.a.addr())
	m.a.hears(Same, m.b.id(), 1)
	m.imp = imp(t, m.kim, m.a)
	return m
}

// unharmed is how the others get on with each other all the same.
func (m meeting) unharmed() {
	m.a.t.Helper()
	m.a.notes(5)
	m.b.notes(5)
	m.a.agrees(m.b)
	m.b.agrees(m.a)
}

func (m meeting) answers(what string, f func([]byte) []byte) {
	answers(m.a.t, m.imp, m.kim, what, f)
}

func (m meeting) says(what string, payload []byte) {
	require.NoError(m.a.t, m.imp.Publish(toAll(what, m.kim.id()), payload))
	require.NoError(m.a.t, m.imp.Flush())
}

func (m meeting) honestClock() {
	m.answers(askClock, func([]byte) []byte { return syncd.AnswerClock(m.kim.Stamp) })
}

func (m meeting) honestHave() {
	m.answers(askHave, func([]byte) []byte { return m.kim.Have().Encode() })
}

// faulty is what must be said of Kim, once, by both.
func (m meeting) faulty(why string) {
	m.a.t.Helper()
	for _, d := range []*desk{m.a, m.b} {
		d.hears(Complaint, m.kim.id(), 1)
		require.Contains(m.a.t, d.story(), why)
	}
}

func TestHaveOfGarbage(t *testing.T) {
	for name, have := range map[string]string{"none": "", "text": "hello", "other version": `{"v":2,"tips":{}}`, "odd feed": `{"v":1,"tips":{"x":[[1,"0123456789abcdef"]]}}`} {
		t.Run(name, func(t *testing.T) {
			m := meets(t, brisk)
			m.honestClock()
			var asked atomic.Int64
			m.answers(askHave, func([]byte) []byte { asked.Add(1); return []byte(have) })
			m.says(sayHere, nil)
			m.a.until("asked again", func() bool { return asked.Load() >= 6 })
			m.faulty("makes no sense")
			m.unharmed()
			require.Equal(t, 1, m.a.count(Complaint, m.kim.id()), "told once")
			require.Zero(t, m.a.count(Took, m.kim.id()))
		})
	}
}

func TestReplyOfGarbage(t *testing.T) {
	forged := []byte(`{"v":1,"feed":"…","is":"lines"}` + "\nnot a line")
	for name, reply := range map[string][]byte{"text": []byte("hello"), "forged": forged, "huge": make([]byte, maxPayload-100)} {
		t.Run(name, func(t *testing.T) {
			m := meets(t, brisk)
			m.honestClock()
			m.honestHave()
			m.answers(askPull, func([]byte) []byte { return reply })
			m.says(sayHere, nil)
			m.faulty("sent")
			m.unharmed()
			require.False(t, m.a.Have().Same(m.kim.Have()))
		})
	}
}

// A clock that answers nonsense is not compared with; the rest goes on.
func TestClockOfGarbage(t *testing.T) {
	m := meets(t, brisk)
	m.answers(askClock, func([]byte) []byte { return []byte("noon") })
	m.honestHave()
	m.answers(askPull, m.kim.answer)
	m.says(sayHere, nil)
	m.a.until("taken", func() bool { return m.a.Towards(m.kim.id()).Heard && m.a.Towards(m.kim.id()).Want == 0 })
	require.Zero(t, m.a.comparedWith(m.kim))
}

func TestNewsOfGarbage(t *testing.T) {
	m := meets(t, brisk)
	m.honestClock()
	m.honestHave()
	m.answers(askPull, m.kim.answer)
	m.says(sayHere, nil)
	m.a.hears(Here, m.kim.id(), 1)
	m.b.hears(Here, m.kim.id(), 1)
	m.says(sayChanged, []byte("{"))
	m.faulty("makes no sense")
	m.unharmed()
}

// Who says what it has and never hands it over is complained of, and stays.
func TestStall(t *testing.T) {
	hasty := brisk
	hasty.answer = 300 * time.Millisecond
	m := meets(t, hasty)
	m.kim.carries(3)
	m.honestClock()
	m.honestHave()
	var pulls atomic.Int64
	m.answers(askPull, func([]byte) []byte { pulls.Add(1); return nil })
	m.says(sayHere, nil)
	m.a.until("asked again and again", func() bool { return pulls.Load() >= 24 }) // four at a time by each
	m.faulty("does not answer")
	m.unharmed()
	require.Zero(t, m.a.count(Left, m.kim.id()))
}

// Who answers nothing at all has left.
func TestSilence(t *testing.T) {
	hasty := brisk
	hasty.answer = 100 * time.Millisecond
	m := meets(t, hasty)
	m.honestClock()
	m.honestHave()
	m.answers(askPull, m.kim.answer)
	m.says(sayHere, nil)
	m.a.hears(Here, m.kim.id(), 1)
	deaf := func([]byte) []byte { return nil }
	m.imp.Close()
	m.imp = imp(t, m.kim, m.a)
	for _, what := range asked {
		m.answers(what, deaf)
	}
	m.a.hears(Left, m.kim.id(), 1)
	m.unharmed()
}

// Whom an answer goes to is the asker's own inbox and no subject of its choice.
func TestNobodyIsMadeToSpeak(t *testing.T) {
	m := meets(t, brisk)
	heard := make(chan *nats.Msg, 100)
	for _, subject := range []string{toAll(sayGone, anybody), inbox(m.kim.id(), anybody, "*")} {
		_, err := m.imp.ChanSubscribe(subject, heard)
		require.NoError(t, err)
	}
	ask := request(m.a.id(), m.kim.id(), askHave)
	for _, reply := range []string{
		toAll(sayGone, m.a.id()), toAll(sayGone, m.b.id()), inbox(m.b.id(), m.a.id(), hello), inbox(m.b.id(), m.a.id(), "x"), "nowhere",
	} {
		require.NoError(t, m.imp.PublishRequest(ask, reply, nil))
	}
	right := inbox(m.kim.id(), m.a.id(), "right")
	require.NoError(t, m.imp.PublishRequest(ask, right, nil))
	for got := range heard {
		require.NotContains(t, got.Subject, sayGone)
		if got.Subject == right {
			break // questions are answered in order, so no other was
		}
	}
}

// An answer counts only for the question that it was drawn a token for.
func TestNobodyAnswersForAnother(t *testing.T) {
	m := meets(t, brisk)
	_, err := m.imp.Subscribe(request(m.kim.id(), anybody, askHave), func(q *nats.Msg) {
		from := events.Key(token(q.Subject, 2))
		for _, guess := range []string{"x", hello} {
			_ = m.imp.Publish(inbox(from, m.kim.id(), guess), []byte("wrong"))
		}
		_ = q.Respond([]byte("right"))
		_ = q.Respond([]byte("twice"))
	})
	require.NoError(t, err)
	require.NoError(t, m.imp.Flush())
	m.b.Bus.mu.Lock()
	l := m.b.Bus.lines[0]
	m.b.Bus.mu.Unlock()
	for range 20 {
		got, err := l.ask(t.Context(), m.kim.id(), askHave, nil)
		require.NoError(t, err)
		require.Equal(t, "right", string(got))
	}
	_, err = l.ask(t.Context(), keyText(busKey(99)), askHave, nil)
	require.ErrorIs(t, err, errNobody)
	l.nc.Close()
	_, err = l.ask(t.Context(), m.a.id(), askHave, nil)
	require.ErrorIs(t, err, errEnded)
}
