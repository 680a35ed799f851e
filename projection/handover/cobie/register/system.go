package register

import (
	"pairwalk/events"
	"pairwalk/projection"
)

func (r *register) systemRows() {
	t := r.tables["System"]
	r.systems = map[events.CircuitID]string{}
	for _, id := range r.hubsNamed() {
		members, by := r.joined(id)
		r.system(t, "hub "+string(id), members, by, "hub", "a hub and what is paired to it, or else listed on it")
	}
	for _, c := range r.site.Circuits {
		members, by := r.fed(c)
		r.systems[c.ID] = r.system(t, "circuit "+string(c.ID), members, by, "circuit", "what a supply circuit feeds, as listed and as seen to go dark with it")
	}
}

// hubsNamed lists the hubs there are, then those that devices name only.
func (r *register) hubsNamed() []events.HubID {
	var out []events.HubID
	there := map[events.HubID]bool{"": true}
	for i := range r.site.Hubs {
		out = append(out, r.site.Hubs[i].Hub)
		there[r.site.Hubs[i].Hub] = true
	}
	for i := range r.site.Devices {
		if id := hubOf(&r.site.Devices[i]); !there[id] {
			out, there[id] = append(out, id), true
		}
	}
	return out
}

// joined lists a hub and what is on it, and the entry that lists the hub or else the
// first that names it.
func (r *register) joined(id events.HubID) (members []string, by *projection.Cause) {
	if h, ok := r.site.Hub(id); ok && h.Struck == nil {
		members, by = []string{r.hubs[id]}, h.Row
	}
	listed := by != nil
	for i := range r.site.Devices {
		d := &r.site.Devices[i]
		if d.Struck != nil || hubOf(d) != id {
			continue
		}
		members = append(members, r.tags[d.Device])
		if !listed {
			by = first(by, rowOf(d))
		}
	}
	return members, by
}

// fed lists what a circuit feeds, and the first entry that names it.
func (r *register) fed(c projection.Circuit) (members []string, by *projection.Cause) {
	for i := range r.site.Hubs {
		if h := &r.site.Hubs[i]; h.Struck == nil && h.Circuit == c.ID {
			members, by = append(members, r.hubs[h.Hub]), first(by, h.Row)
		}
	}
	feeds := map[events.Tag]bool{}
	for _, t := range c.Feeds {
		feeds[t] = true
	}
	for i := range r.site.Devices {
		if d := &r.site.Devices[i]; d.Struck == nil && feeds[d.Device] {
			members, by = append(members, r.tags[d.Device]), first(by, rowOf(d))
		}
	}
	return members, by
}

// system adds a system and gives its key. Where its members don't fit one cell,
// further rows of the name go on.
func (r *register) system(t *table, name string, members []string, by *projection.Cause, category, description string) (key string) {
	if len(members) == 0 {
		return ""
	}
	key = t.names.give(name)
	for _, list := range lists(members) {
		t.add(key, r.from(by, cells{"Category": category, "ComponentNames": list, "Description": description}))
	}
	t.ask("Category", key, ownWords, false)
	return key
}
