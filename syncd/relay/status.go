package relay

import (
	"fmt"
	"net/http"
	"sync"

	"github.com/prometheus/client_golang/prometheus/promhttp"

	"pairwalk/syncd/bus"
	"pairwalk/syncd/member"
)

// Status answers /healthz and /metrics.
func (r *Relay) Status() http.Handler {
	mux := http.NewServeMux()
	var one sync.Mutex // whoever asks often waits for themselves
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, q *http.Request) {
		one.Lock()
		defer one.Unlock()
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		w.Header().Set("Cache-Control", "no-store")
		if err := r.Check(q.Context()); err != nil {
			w.WriteHeader(http.StatusServiceUnavailable)
			fmt.Fprintln(w, err)
			return
		}
		fmt.Fprintln(w, "ok")
	})
	mux.Handle("GET /metrics", promhttp.HandlerFor(r.meter.registry, promhttp.HandlerOpts{Registry: r.meter.registry}))
	return mux
}

// notices writes down what happens on a site. It is the relay's own log, on its own
// machine: that may name the site.
func (r *Relay) notices(seat Seat, m *member.Member) func(bus.Notice) {
	log := r.log.With("site", seat.Name)
	return func(n bus.Notice) {
		who := ""
		if n.Peer != "" {
			who = m.NameOf(n.Peer)
		}
		switch n.Kind {
		case bus.Here, bus.Left:
			log.Debug("member "+string(n.Kind), "member", who)
		case bus.Took, bus.Pictured:
			log.Debug(string(n.Kind), "n", n.N, "from", who)
		case bus.Refused:
			log.Info("caller refused", "from", n.Addr, "why", n.Why)
		case bus.Revoked:
			log.Info("member cut off", "member", who, "why", n.Why)
		case bus.Complaint:
			log.Warn("member at fault", "member", who, "why", n.Why)
		case bus.Trouble:
			log.Error("can't keep what came", "from", who, "why", n.Why)
		}
	}
}
