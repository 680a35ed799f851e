package checkup

import (
	"fmt"
	"strings"

	"pairwalk/projection"
)

func (s *Site) peers(x *told) {
	if o := s.Opened; o != nil {
		for _, p := range o.Peers {
			o.peer(x, p)
		}
		o.unsent(x)
		o.places(x)
		if o.Refusals > 0 {
			x.add(Finding{Kind: "peers.refused", State: Look, Words: fmt.Sprintf("%s turned away at this device's door.", turned(o.Refusals)), Do: "See who, and why.", Run: "members"})
		}
	}
	switch {
	case s.Held == Served:
		x.well("peers.serve", "A pairwalk serve has this site open, and takes commands.")
	case s.Stale:
		x.well("peers.serve", "No pairwalk serve is running; the last one was killed, and the next one tidies up after it.")
	default:
		x.well("peers.serve", "No pairwalk serve is running: colleagues can't call here; sync calls at them.")
	}
}

// turned is so many callers, and that they were.
func turned(n int) string {
	if n == 1 {
		return "1 caller was"
	}
	return fmt.Sprintf("%d callers were", n)
}

// peer says how far a colleague has been heard.
func (o *Opened) peer(x *told, p Peer) {
	if p.Is == projection.Revoked {
		return
	}
	holds := fmt.Sprintf("known to hold %d of your %d", min(p.Holds, p.Ours), p.Ours)
	if p.Through <= 0 {
		x.add(Finding{Kind: "peers.member", State: Look, Words: fmt.Sprintf("%s: never heard out from this device; %s here, %s.", p.Name, counted(p.Entries, "entry"), holds), Do: "Meet, or exchange bundles; until then nobody knows what else they did.", Run: "sync"})
		return
	}
	ago := o.Now.Wall.At.Sub(p.Through)
	x.well("peers.member", fmt.Sprintf("%s: all they had said %s ago is here (%s); %s.", p.Name, lasting(max(0, ago)), counted(p.Entries, "entry"), holds))
}

func (o *Opened) unsent(x *told) {
	if o.Unsent == 0 {
		x.well("peers.unsent", "Somebody else holds every entry made here.")
		return
	}
	f := Finding{Kind: "peers.unsent", State: Look, Words: fmt.Sprintf("There %s %s made here that nobody else is known to hold: with this device that would be lost.", verb(o.Unsent), counted(o.Unsent, "entry"))}
	f.Do, f.Run = "Exchange with anybody, or put a bundle on a stick.", "sync"
	if len(o.Peers) == 0 {
		f.Do, f.Run = "Keep a bundle somewhere else than on this device, until somebody joins.", "bundle out FILE"
	}
	x.add(f)
}

// ended ends a sentence, unless it asks.
func ended(s string) string {
	if strings.HasSuffix(s, "?") {
		return s
	}
	return s + "."
}

// places says where others were met, and whether they answer if they were asked.
func (o *Opened) places(x *told) {
	for _, p := range o.Places {
		f := Finding{Kind: "peers.place", State: Look}
		switch {
		case !o.Called:
			x.well("peers.place", fmt.Sprintf("%s was met at %s, or is said to be; not called now (--call does).", p.Name, p.Addr))
			continue
		case p.Stranger:
			f.Words, f.Do = fmt.Sprintf("At %s another device answers than %s's.", p.Addr, p.Name), "Addresses change hands; ask for their new one. Nothing was said to whoever answered."
		case p.Why != "":
			f.Words, f.Do = fmt.Sprintf("%s does not answer at %s: %s", p.Name, p.Addr, ended(p.Why)), "That is usual where they are out of reach or do not serve."
		default:
			x.well("peers.place", fmt.Sprintf("%s answers at %s.", p.Name, p.Addr))
			continue
		}
		x.add(f)
	}
}

// port is of the whole installation.
func (r Readings) port(x *told) {
	if r.Port.Number == 0 {
		return
	}
	serving := false
	for _, s := range r.Sites {
		serving = serving || s.Held == Served
	}
	switch {
	case !r.Port.Taken:
		x.well("peers.port", fmt.Sprintf("Port %d, where a serving device is called, is free.", r.Port.Number))
	case serving:
		x.well("peers.port", fmt.Sprintf("Port %d, where a serving device is called, is taken; pairwalk serve is running.", r.Port.Number))
	default:
		x.add(Finding{Kind: "peers.port", State: Look, Words: fmt.Sprintf("Another program has port %d, where a serving device is called.", r.Port.Number), Do: "pairwalk serve then takes another port and says so; or choose one with --listen."})
	}
}
