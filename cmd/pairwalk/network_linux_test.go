package main

import (
	"net"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/syncd"
)

// These tests put processes on networks of their own. They skip where that is not
// permitted; what goes through a cable (TestTheLink…) is tried everywhere.

func (d *desk) on(w *wires, name string, args ...string) *post {
	o := w.outlet()
	return d.posts(name, o.start, append([]string{"--listen", net.JoinHostPort(o.ip().String(), "0")}, args...)...)
}

const ann, bo = 1, 2 // in the order in which they come onto the wires

var annToBo, boToAnn = way{ann, bo}, way{bo, ann}

// Three devices where every thirtieth packet is lost, some come twice, and all
// come late and out of order.
func TestTheNetworkIsBad(t *testing.T) {
	d, r := badDay(t, 1, 0)
	for _, name := range []string{"Ann", "Bo"} {
		m, err := d.home(map[string]string{"Ann": "ann", "Bo": "bo"}[name]).Open("")
		require.NoError(t, err)
		d.writes(m, 500, 300)
		if name == "Ann" {
			d.ann = m
			cy := d.joins("Cy")
			d.writes(cy, 500, 300)
			require.NoError(t, cy.Close())
		}
		require.NoError(t, m.Close())
	}
	l := d.ledger("ann", "bo", "cy")
	w := newWires(t, r, air{loss: 0.033, twice: 0.01, delay: 15 * time.Millisecond, jitter: 10 * time.Millisecond})
	a := d.on(w, "ann")
	d.on(w, "bo", "--call", a.addr)
	d.on(w, "cy", "--call", a.addr)
	d.run("bo", "sync", a.addr)
	d.run("cy", "sync", a.addr)
	d.run("bo", "sync", a.addr)
	d.agree("ann", "bo", "cy")
	passed, lost := w.figures(annToBo)
	gone := d.lost(l, "ann") + d.lost(l, "bo") + d.lost(l, "cy")
	t.Logf("%d packets lost, %d bytes from Ann to Bo; %d entries in the ledger, %d lost", lost, passed, len(l), gone)
	require.Positive(t, lost)
	require.Zero(t, gone)
}

// A cable pulled in the middle of an exchange and put in again, many times: mostly
// before anybody gives up, once until both have.
func TestTheNetworkGoesAndComes(t *testing.T) {
	d, r := badDay(t, long(), 1000)
	log, l := d.weigh("ann"), d.ledger("ann", "bo")
	w := newWires(t, r, air{})
	a := d.on(w, "ann")
	b := d.on(w, "bo", "--call", a.addr)
	for i := range cuts() {
		<-w.after(annToBo, 1+r.IntN(3*syncd.MaxReply/2))
		pulled := w.cut(1+r.IntN(4), annToBo, boToAnn)
		d.notes(l, "bo", "the network is gone")
		d.notes(l, "ann", "where is Bo")
		<-pulled
		if i == cuts()/2 {
			b.await("down", 1)
			a.missesWhoWasHere()
		}
		w.join()
	}
	d.run("bo", "sync", a.addr)
	d.agree("ann", "bo")
	passed, lost := w.figures(annToBo)
	gaveUp := b.said("down")
	gone := d.lost(l, "ann") + d.lost(l, "bo")
	t.Logf("%d cuts, %d packets lost, a line made anew %d times; %d bytes came in packets for %d bytes of log; %d entries in the ledger, %d lost",
		cuts(), lost, b.said("up")-1, passed, log, len(l), gone)
	require.Zero(t, gone)
	require.GreaterOrEqual(t, gaveUp, 1)
	wrapped := log + log/8 // what TCP, IP, TLS and the bus add, and packets sent again
	require.LessOrEqual(t, passed, wrapped+(gaveUp+1)*(syncd.MaxReply+lineCosts))
}

// A link that carries one way only, as a bad connector may: each way is given up
// on both sides, and both hold the same once it is mended.
func TestTheNetworkGoesOneWay(t *testing.T) {
	for name, on := range map[string]way{"answers are lost": annToBo, "questions are lost": boToAnn} {
		t.Run(name, func(t *testing.T) {
			d, r := badDay(t, 1500, 1000)
			l := d.ledger("ann", "bo")
			w := newWires(t, r, air{})
			a := d.on(w, "ann")
			b := d.on(w, "bo", "--call", a.addr)
			<-w.after(annToBo, 20_000+r.IntN(syncd.MaxReply))
			w.cut(1, on)
			d.notes(l, "bo", "nobody answers")
			d.notes(l, "ann", "nobody asks")
			b.await("down", 1)
			a.missesWhoWasHere()
			w.join()
			d.run("bo", "sync", a.addr)
			d.agree("ann", "bo")
			_, lost := w.figures(on)
			gone := d.lost(l, "ann") + d.lost(l, "bo")
			t.Logf("%d packets lost one way, a line made anew %d times; %d entries in the ledger, %d lost", lost, b.said("up")-1, len(l), gone)
			require.Positive(t, lost)
			require.Zero(t, gone)
		})
	}
}
