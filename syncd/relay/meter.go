package relay

import (
	"bytes"
	"context"
	"errors"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"pairwalk/events"
	"pairwalk/syncd"
	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
)

// meter counts, for those who look after the machine. Nothing in it names a site or
// a member: who works where, and when, is theirs to know who are on the site; and a
// series for each of thousands of sites would be more than the relay itself.
type meter struct {
	registry *prometheus.Registry
	taken    prometheus.Counter
	served   prometheus.Counter
	bytesIn  prometheus.Counter
	bytesOut prometheus.Counter
	pulls    prometheus.Counter
	pictures prometheus.Counter
	faults   prometheus.Counter
	storage  prometheus.Counter
	refused  *prometheus.CounterVec
	wakes    prometheus.Histogram
}

func newMeter(r *Relay) *meter {
	m := &meter{registry: prometheus.NewRegistry()}
	count := func(name, help string) prometheus.Counter {
		c := prometheus.NewCounter(prometheus.CounterOpts{Namespace: "pairwalk", Subsystem: "relay", Name: name, Help: help})
		m.registry.MustRegister(c)
		return c
	}
	m.taken = count("entries_taken_total", "Entries of others that were new here and are kept.")
	m.served = count("entries_served_total", "Entries handed to members.")
	m.bytesIn = count("bytes_taken_total", "Bytes of entries and pictures that came in answers.")
	m.bytesOut = count("bytes_served_total", "Bytes of entries and pictures handed to members.")
	m.pulls = count("pulls_total", "Questions for entries that were answered.")
	m.pictures = count("pictures_taken_total", "Pictures that were new here and are kept.")
	m.faults = count("peer_faults_total", "Answers of members that were not what they should be.")
	m.storage = count("storage_errors_total", "Times that something could not be read or kept here.")
	m.refused = prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: "pairwalk", Subsystem: "relay", Name: "refused_total", Help: "Callers turned away, by reason."}, []string{"reason"})
	m.wakes = prometheus.NewHistogram(prometheus.HistogramOpts{Namespace: "pairwalk", Subsystem: "relay", Name: "wake_seconds", Help: "How long it took to open a site, waiting for a turn included.", Buckets: prometheus.ExponentialBuckets(0.005, 2, 12)})
	gauge := func(name, help string, of func(Tally) int) {
		m.registry.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{Namespace: "pairwalk", Subsystem: "relay", Name: name, Help: help}, func() float64 { return float64(of(r.Tally())) }))
	}
	gauge("sites", "Sites that the relay is on.", func(t Tally) int { return t.Sites })
	gauge("sites_awake", "Sites that are open now.", func(t Tally) int { return t.Awake })
	gauge("sites_awake_peak", "Sites that were open at one time, at most.", func(t Tally) int { return t.Peak })
	gauge("members", "Members on line now.", func(t Tally) int { return t.Members })
	m.registry.MustRegister(m.refused, m.wakes, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// waking begins to measure how long a site takes to open.
func (m *meter) waking() (done func(error)) {
	t := prometheus.NewTimer(m.wakes)
	return func(err error) {
		if err == nil {
			t.ObserveDuration()
		}
	}
}

// reasons are the labels of those who are turned away; whatever else there is comes
// under other, so that no caller can make up series.
var reasons = []struct {
	is    error
	label string
}{
	{bus.ErrNoDoor, "no_such_site"}, {bus.ErrNoJoin, "no_join"}, {bus.ErrFull, "site_full"}, {bus.ErrShutting, "stopping"},
	{errHouseFull, "all_awake"}, {bus.ErrNotNow, "not_now"}, {errBarred, "refused_before"},
	{member.ErrStranger, "stranger"}, {member.ErrRevoked, "revoked"}, {member.ErrQuarantined, "quarantined"},
	{member.ErrUsedInvite, "invite_used"}, {member.ErrLateInvite, "invite_expired"},
}

func (m *meter) refuse(why error) {
	label := "unproven"
	for _, r := range reasons {
		if errors.Is(why, r.is) {
			label = r.label
			break
		}
	}
	m.refused.WithLabelValues(label).Inc()
}

// face is a member as its bus sees it, with somebody counting.
type face struct {
	*member.Member
	meter *meter
}

func (f face) Answer(pull, room []byte) []byte {
	reply := f.Member.Answer(pull, room)
	f.meter.pulls.Inc()
	f.meter.served.Add(float64(bytes.Count(reply, []byte{'\n'}))) // each line comes after a line feed
	f.meter.bytesOut.Add(float64(len(reply)))
	return reply
}

func (f face) Answered(ctx context.Context, ask syncd.Ask, reply []byte) (syncd.Got, error) {
	got, err := f.Member.Answered(ctx, ask, reply)
	f.meter.taken.Add(float64(got.Fresh))
	f.meter.bytesIn.Add(float64(len(reply)))
	f.meter.judge(err)
	return got, err
}

func (f face) ShowPiece(peer events.Key, question []byte) []byte {
	reply := f.Member.ShowPiece(peer, question)
	f.meter.bytesOut.Add(float64(len(reply)))
	return reply
}

func (f face) PictureAnswered(ctx context.Context, ask syncd.PictureAsk, reply []byte) (int, error) {
	n, err := f.Member.PictureAnswered(ctx, ask, reply)
	f.meter.pictures.Add(float64(n))
	f.meter.bytesIn.Add(float64(len(reply)))
	f.meter.judge(err)
	return n, err
}

// judge counts whose fault it was.
func (m *meter) judge(err error) {
	var fault *syncd.Complaint
	switch {
	case errors.As(err, &fault):
		m.faults.Inc()
	case err != nil:
		m.storage.Inc()
	}
}
