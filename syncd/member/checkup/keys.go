package checkup

import (
	"fmt"

	"pairwalk/events"
	"pairwalk/projection"
)

// nobody is for a home without a site.
func (r Readings) nobody(x *told) {
	switch {
	case r.Lost != "":
		x.add(Finding{Kind: "keys.sites", State: Wrong, Words: fmt.Sprintf("The sites of this home can't be listed: %s.", r.Lost), Do: "Make the folder readable for yourself, or say with --home which one is meant."})
	default:
		x.add(Finding{Kind: "keys.sites", State: Look, Words: "No site is open here.", Do: "Open one, or join one by an invite: pairwalk join TOKEN --as YOU. If there should be one here, say with --home where it is.", Run: "init NAME --as YOU"})
	}
}

const rejoin = "Put keys.json back from a copy of this device, if there is one. Else take a bundle of the log from a colleague, have a lead revoke your old key, and join again in a new home."

func (s *Site) keys(x *told) {
	k := s.Keys
	switch {
	case !k.There:
		x.add(Finding{Kind: "keys.read", State: Wrong, Words: fmt.Sprintf("The keys are gone: %s/keys.json is not there, so this site can't be opened.", s.Folder), Do: rejoin})
		return
	case k.Wrong != "":
		x.add(Finding{Kind: "keys.read", State: Wrong, Words: fmt.Sprintf("The keys can't be used, so this site can't be opened: %s.", k.Wrong), Do: rejoin})
		return
	case !k.Fits:
		x.add(Finding{Kind: "keys.read", State: Wrong, Words: "The keys here are of another site than the folder they lie in: files were mixed up.", Do: rejoin})
		return
	}
	x.well("keys.read", "The keys can be read, and are this site's.")
	s.owner(x)
	if k.Guard == "" {
		x.well("keys.secret", "The keys are kept in clear: who can read this user's files can speak as you; pairwalk passphrase set locks them.")
	} else {
		x.well("keys.secret", fmt.Sprintf("The keys are kept %s.", k.Guard))
	}
	if s.Opened == nil {
		x.add(Finding{Kind: "keys.open", State: Wrong, Words: fmt.Sprintf("The site can't be opened: %s.", s.Shut), Do: "Keep a copy of this folder before you try anything, and take a bundle of the log from a colleague."})
		return
	}
	s.Opened.standing(x, s.Opened.Now.Wall.At)
	s.Opened.leading(x)
}

// owner holds the keys against the feed that the mark says is the own one.
func (s *Site) owner(x *told) {
	feed := s.In.Feed
	if feed == "" {
		feed = s.Out.Feed
	}
	switch {
	case feed == "":
	case feed.Key() != s.Keys.Key:
		x.add(Finding{Kind: "keys.feed", State: Wrong, Words: "The keys are not those that the own feed was signed with: keys.json and the log are of two installations.", Do: rejoin})
	default:
		x.well("keys.feed", "They are those that the own feed is signed with.")
	}
}

// standing says whether colleagues count what is recorded here.
func (o *Opened) standing(x *told, now events.Instant) {
	j := o.Standing
	f := Finding{Kind: "keys.join", State: Wrong}
	switch {
	case !j.Joined:
		f.Words, f.Do, f.Run = "The log here does not hold your own join, so nobody can tell who you are.", "Exchange with a colleague, who has it if you were ever met.", "sync"
	case j.Is == projection.Admitted:
		x.well("keys.join", fmt.Sprintf("You are on the team as %s, and what you record counts.", j.Role))
		return
	case j.Is == projection.Provisional:
		f = o.provisional(now)
	case j.Is == projection.Quarantined:
		f.Words, f.Do = fmt.Sprintf("What you record does not count yet: %s.", j.Why), "Ask a lead to decide with: pairwalk members admit YOUR-NAME. What you recorded meanwhile counts from then on."
	default:
		f.Words, f.Do = fmt.Sprintf("Your say on this site has ended: %s. What you recorded before counts still, as far as it was heard.", said(j.Why)), "If that is a mistake, ask a lead for a new invite and join in a new home."
	}
	x.add(f)
}

func said(why string) string {
	if why == "" {
		return "a lead revoked it"
	}
	return why
}

// provisional is for one whom no lead's device has heard of yet, as far as is
// known here. A lead's device admits by itself as long as the invite is good.
func (o *Opened) provisional(now events.Instant) Finding {
	f := Finding{Kind: "keys.join", State: Look, Run: "sync"}
	exp := o.Standing.Expires
	switch {
	case exp.Known && exp.Value < now:
		f.State = Wrong
		f.Words = fmt.Sprintf("No lead's device has admitted you yet, and your invite ran out %s ago.", lasting(now.Sub(exp.Value)))
		f.Do, f.Run = "Carry a bundle to a lead, who then admits you by name: pairwalk members admit YOUR-NAME.", "bundle out FILE"
	case exp.Known:
		f.Words = fmt.Sprintf("No lead's device has admitted you yet: what you record counts as provisional, and your invite runs out in %s.", lasting(exp.Value.Sub(now)))
		f.Do = "Meet a lead's device before then, or anybody of the site who will."
	default:
		f.Words, f.Do = "No lead's device has admitted you yet: what you record counts as provisional.", "Meet a lead's device, or anybody of the site who will."
	}
	return f
}

// leading says what the site hangs on.
func (o *Opened) leading(x *told) {
	switch n := len(o.Leads); n {
	case 0:
		x.add(Finding{Kind: "keys.leads", State: Look, Words: "The log here knows of no lead: nobody can be admitted or revoked as far as it tells.", Do: "Exchange with a colleague. If every lead's device is lost, the recovery sheet makes a new lead.", Run: "sync"})
	case 1:
		x.add(Finding{Kind: "keys.leads", State: Look, Words: fmt.Sprintf("%s is the only lead: if that device is lost, only the recovery sheet brings the site back under a lead.", o.Leads[0]), Do: "Know where the sheet is, and invite a second lead by it.", Run: "invite --role lead --sheet -"})
	default:
		x.well("keys.leads", fmt.Sprintf("%s lead this site: %s.", counted(n, "member"), listed(o.Leads)))
	}
}
