package simtest

import (
	"crypto/ed25519"
	"slices"

	"pairwalk/events"
	"pairwalk/projection"
)

// This file is thieves: of an invite, which they use besides the one it was meant
// for, and of a device with its keys, which goes on after its owner was revoked.

// mayRob lists what a thief may do now.
func (w *world) mayRob(may func(Fault, bool, int, func())) {
	lead := w.hosts[0]
	var meant, robbed []*host
	for _, h := range w.hosts[1:] {
		if h.token.Known && h.single() && !h.outlaw && !h.thief && !h.robbed {
			meant = append(meant, h)
		}
		if h.m != nil && h.single() && !h.outlaw && !h.thief && h != w.rogue {
			robbed = append(robbed, h)
		}
	}
	may(TokenUsed, lead.m != nil && w.room() && len(meant) > 0, 1, func() { w.usesTwice(w.whom(meant)) })
	may(KeyStolen, lead.m != nil && w.room() && len(robbed) > 0, 1, func() {
		h := w.whom(robbed)
		w.inject(KeyStolen)
		h.clones("a thief with " + h.name + "'s keys").thief = true
		w.revokes(h)
	})
}

// usesTwice is a thief who joins with an invite that somebody else has used.
func (w *world) usesTwice(meant *host) {
	t := w.another("a thief with "+meant.name+"'s invite", meant.role)
	m, err := t.home().Join(w.ctx, meant.token.Value, "Mal", "")
	if err != nil {
		w.breaks(Opens, "join with a stolen invite: %v", err)
		return
	}
	t.token, t.thief, t.outlaw, meant.robbed = meant.token, true, true, true
	w.hosts = append(w.hosts, t)
	w.inject(TokenUsed)
	w.tell("%s joins", t.name)
	t.runs(m)
	t.after()
	for _, o := range w.others(t) {
		if w.dice.IntN(2) == 0 {
			w.join(o, t)
		}
	}
}

// decides is the lead, who says which of two an invite was meant for.
func (w *world) decides() {
	lead := w.hosts[0]
	for _, t := range w.hosts {
		i := slices.IndexFunc(w.hosts, func(h *host) bool {
			return h.robbed && t.like == nil && t.thief && h.token.Value.Grant.Key == t.token.Value.Grant.Key
		})
		if i < 0 || w.broken != nil {
			continue
		}
		if who, known := lead.m.Now().Member(w.hosts[i].key); known && who.Standing == projection.Quarantined {
			_, err := lead.m.Admit(w.ctx, who)
			w.tell("%s admits %s", lead.name, w.hosts[i].name)
			lead.wrote("admit", err)
		}
		w.revokes(t)
	}
	if v := w.rogue; v != nil && !v.outlaw && w.may[Revoked] {
		w.revokes(v)
	}
}

// freshKey is a key that nobody knows.
func (w *world) freshKey() ed25519.PrivateKey {
	seed := make([]byte, ed25519.SeedSize)
	for i := range seed {
		seed[i] = byte(w.dice.IntN(256))
	}
	return ed25519.NewKeyFromSeed(seed)
}

// lines are the entries on a device's disk, in a fixed order.
func (h *host) lines() []*events.Event {
	var out []*events.Event
	for ref := range h.held {
		if e := h.w.ledger.said[ref]; e != nil {
			out = append(out, e)
		}
	}
	slices.SortFunc(out, func(a, b *events.Event) int { return a.Ref().Compare(b.Ref()) })
	return out
}

// told lists the pairings on a hub that were ever logged, in a fixed order.
func (t *truth) told(hub events.HubID) []events.Ref {
	var out []events.Ref
	for ref := range t.said[hub] {
		out = append(out, ref)
	}
	slices.SortFunc(out, events.Ref.Compare)
	return out
}
