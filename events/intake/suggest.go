package intake

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"pairwalk/events"
)

// guessMost is how many unknown tags of a sheet are compared with the known ones
// for a likely slip; a sheet with more belongs to another site.
const guessMost = 100

// suggest asks whether a known name was meant, or says what else to do.
func (r *row) suggest(name, otherwise string) string {
	if r.guesses++; r.guesses > guessMost {
		return otherwise
	}
	if r.known == nil {
		r.known = slices.SortedFunc(maps.Keys(r.opt.Site.Devices), events.ByName[events.Tag])
		if r.kind == Links {
			for _, h := range slices.SortedFunc(maps.Keys(r.opt.Site.Hubs), events.ByName[events.HubID]) {
				r.known = append(r.known, events.Tag(h))
			}
		}
	}
	if guess := nearest(name, r.known); guess != "" {
		return fmt.Sprintf("did you mean %s?", guess)
	}
	return otherwise
}

// onFloor reads the floor of something on the plan. Where the site lists its
// floors it has to be one of them.
func (r *row) onFloor() events.FloorID {
	const most = 12
	floor := needName[events.FloorID](r, "floor", "write its name as the floors sheet does, such as B1")
	if _, ok := r.opt.Site.Floors[floor]; ok || floor == "" || len(r.opt.Site.Floors) == 0 {
		return floor
	}
	known := slices.SortedFunc(maps.Keys(r.opt.Site.Floors), events.ByName[events.FloorID])
	right := "list it in the floors sheet first"
	if guess := nearest(string(floor), known); guess != "" {
		right = fmt.Sprintf("did you mean %s?", guess)
	} else if len(known) <= most {
		names := make([]string, len(known))
		for i, f := range known {
			names[i] = string(f)
		}
		right = "the site's floors are " + strings.Join(names, ", ")
	}
	r.wrong("floor", fmt.Sprintf("%q is not a floor of the site", clip(string(floor))), right)
	return floor
}
