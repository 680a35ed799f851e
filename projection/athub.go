package projection

import (
	"slices"

	"pairwalk/events"
)

func (f *fold) hubAssigned(c *Cause, p events.HubAssigned) {
	h := f.onHub(c, p.Hub)
	f.about(c, events.Member(p.Member))
	if !p.Ended {
		h.assigned.own(f.number)[p.Member] = *c
		return
	}
	if _, was := h.assigned.m[p.Member]; !was {
		f.oddity(c, events.Hub(p.Hub), "loses a member who was not assigned to it")
	}
	delete(h.assigned.own(f.number), p.Member)
}

func (f *fold) memberAsked(c *Cause, p events.MemberAsked) {
	h := f.onHub(c, p.Hub)
	f.about(c, events.Member(p.Member))
	if p.Member == c.Member() {
		f.oddity(c, events.Member(p.Member), "asks themselves")
	}
	h.Asked = append(h.Asked, Asking{*c, p.Member, p.Last, p.Through})
}

func (f *fold) hubReady(c *Cause, p events.HubReady) {
	h := f.workedHub(c, p.Hub)
	if h.Program == "" {
		f.oddity(c, events.Hub(p.Hub), "is called ready with no program loaded")
	}
	h.Ready, h.Lost, h.LostWhy = c, nil, ""
}

func (f *fold) hubLost(c *Cause, p events.HubLost) {
	h := f.workedHub(c, p.Hub)
	if h.Ready == nil {
		f.oddity(c, events.Hub(p.Hub), "is lost before it was ready")
	}
	h.Ready, h.Lost, h.LostWhy = nil, c, p.Why
}

func (f *fold) hubChannel(c *Cause, p events.HubChannel) {
	h := f.workedHub(c, p.Hub)
	if h.Radio != "" && h.Radio != p.Radio {
		f.oddity(c, events.Hub(p.Hub), "has no "+string(p.Radio)+" radio")
	}
	ch := h.channels.m[p.Radio]
	ch.Number, ch.Set, ch.Changed = p.Channel, *c, nil
	for _, at := range h.joined {
		if f.passes(int(at)) || f.table.at(int(at)).Paired.Radio != p.Radio {
			continue
		}
		d := f.ownDevice(int(at))
		if !d.is(knowsChannel) {
			d.channel = int16(p.Channel)
			d.set(knowsChannel, true)
		}
		d.set(channelChanged, int(d.channel) != p.Channel)
		if d.is(channelChanged) {
			ch.Changed = c
		}
	}
	h.channels.own(f.number)[p.Radio] = ch
}

// tuned is the channels that a hub is on.
type tuned struct{ mesh, star events.Maybe[int] }

func (h *hub) tuned() tuned {
	on := func(r events.Radio) events.Maybe[int] {
		ch, set := h.channels.m[r]
		return events.Maybe[int]{Value: ch.Number, Known: set}
	}
	return tuned{on(events.Mesh), on(events.Star)}
}

// tune notes that a device has joined its hub, or taken a push, on the channel
// the hub is on.
func (d *device) tune(to tuned) {
	on := to.mesh
	if d.is(isStar) {
		on = to.star
	}
	d.channel = int16(on.Value)
	d.set(knowsChannel, on.Known)
	d.set(channelChanged, false)
}

func (f *fold) hubLoaded(c *Cause, p events.HubLoaded) {
	h := f.workedHub(c, p.Hub)
	var lists []events.Tag
	if !p.All {
		lists = f.listed(c, h, p.Lists)
	}
	h.Program, h.Loaded, h.Lists = p.Program, c, lists
	h.programs.put(aboutNone, Load{*c, p.Program, lists})
	for _, at := range h.joined {
		if d := f.table.at(int(at)); !f.passes(int(at)) && d.is(notListed) == h.holds(d) {
			f.ownDevice(int(at)).set(notListed, !d.is(notListed))
		}
	}
}

// listed is what a program lists, as it is called now: one list for all programs of a
// hub in a row that list the same.
func (f *fold) listed(c *Cause, h *hub, said []events.Tag) []events.Tag {
	if h.Lists != nil && !f.serials.renamed && slices.Equal(said, h.Lists) {
		return h.Lists // all were known, and still are
	}
	out := make([]events.Tag, 0, len(said))
	for _, t := range said {
		if f.known(t) == none {
			f.oddity(c, events.Device(t), "is not on the schedule")
		} else {
			out = append(out, f.tag(t))
		}
	}
	slices.Sort(out)
	if out = slices.Compact(out); h.Lists != nil && slices.Equal(out, h.Lists) {
		return h.Lists
	}
	return out
}

func (f *fold) recordsExported(c *Cause, p events.RecordsExported) {
	if old := f.export(p.Export); old != nil {
		f.oddity(c, events.Site(), "export "+p.Export+" was made before", old.Exported.Ref())
		return
	}
	f.exportAt[p.Export] = f.exports.n
	f.exports.put(f.exports.n, &Export{ID: p.Export, Heads: p.Heads, Exported: *c}, f.number)
}

func (f *fold) recordsMerged(c *Cause, p events.RecordsMerged) {
	if p.Hub != "" {
		f.onHub(c, p.Hub)
	}
	x := f.export(p.Export)
	if x == nil {
		f.oddity(c, events.Site(), "export "+p.Export+" is not known here")
		return
	}
	now := *x
	now.Merged = append(slices.Clip(x.Merged), Merge{*c, p.Hub})
	f.exports.put(f.exportAt[p.Export], &now, f.number)
	export, _ := f.ranks.Number(x.Exported.Event)
	f.bringHome(p.Hub, export)
}

func (f *fold) pushFailed(c *Cause, p events.PushFailed) {
	h := f.workedHub(c, p.Hub)
	h.pushes.put(aboutNone, Push{Cause: *c, Hub: p.Hub, Failed: p.Why})
}

func (f *fold) pushDone(c *Cause, p events.PushDone) {
	push := &Push{Cause: *c, Hub: p.Hub, Program: p.Program}
	push.Tried, push.tried = f.pushed(c, p.Tried)
	push.Missed, push.missed = f.pushed(c, p.Missed)
	h := f.workedHub(c, p.Hub)
	h.pushes.put(aboutNone, *push)
	load, loaded := h.load(p.Program)
	if !loaded {
		f.oddity(c, events.Hub(p.Hub), "never held program "+string(p.Program))
	}
	for r, ch := range h.channels.m {
		if ch.Changed != nil {
			ch.Changed = nil
			h.channels.own(f.number)[r] = ch
		}
	}
	home, on := f.homecoming(p.Hub), h.tuned()
	for _, at := range f.triedBy(h, push, len(p.Tried) == 0) {
		if f.passes(int(at)) {
			continue
		}
		d := f.ownDevice(int(at))
		if slices.Contains(push.missed, at) {
			d.Missed = f.this
			continue
		}
		d.Missed = 0
		d.tune(on)
		d.set(notListed, loaded && !load.lists(d))
		d.set(isHome, d.is(isHome) || home.covers(d.Paired.Event))
		d.set(notMerged, !d.is(isHome))
		if !d.is(notListed | notMerged) {
			d.Pushed = push
		}
	}
}

// triedBy lists the devices that a push went out to: those that are paired to
// its hub, of those it names.
func (f *fold) triedBy(h *hub, push *Push, all bool) []int32 {
	if all {
		return h.joined
	}
	var out []int32
	for _, at := range push.tried {
		if slices.Contains(h.joined, at) {
			out = append(out, at)
		}
	}
	return out
}

// pushed names the devices of a push as they are called now, and tells their places.
func (f *fold) pushed(c *Cause, said []events.Tag) (tags []events.Tag, places []int32) {
	tags = make([]events.Tag, 0, len(said))
	for _, t := range said {
		at := f.known(t)
		if at == none {
			f.oddity(c, events.Device(t), "is not on the schedule")
			continue
		}
		d := f.table.at(at)
		f.workAt(c, at)
		if d.Paired == nil {
			f.oddity(c, events.Device(d.tag()), "is in a push, and not paired")
		}
		tags, places = append(tags, d.tag()), append(places, int32(at))
	}
	return tags, places
}

// holds says whether the program on the hub lists a device, without a look at what it
// is called where it lists all.
func (h *hub) holds(d *device) bool { return h.Program != "" && Load{Lists: h.Lists}.lists(d) }

func (l Load) lists(d *device) bool { return l.Lists == nil || l.Holds(d.tag()) }

// load is the last time the hub was loaded with a program.
func (h *hub) load(p events.Program) (Load, bool) {
	for _, l := range slices.Backward(h.programs.list()) {
		if l.Program == p {
			return l, true
		}
	}
	return Load{}, false
}
