package projection

import (
	"slices"

	"pairwalk/events"
)

// notePairing keeps every pairing ever said of a hub, whether it stands or not.
func (f *fold) notePairing(x *laid, p events.DevicePaired) {
	if f.hubs.m[p.Hub] == nil {
		f.newHub(p.Hub)
	}
	h, at, tag := f.ownHub(p.Hub), f.known(p.Device), f.tag(p.Device)
	pairing := Pairing{Cause: x.Cause, Device: tag, Hub: p.Hub, Radio: f.radioOf(tag), Serial: p.Serial, How: p.How, Quarantined: f.doubts[x.doubt], Lost: f.lost[x.Ref()]}
	if v := f.withdrawn[x.void]; v != nil {
		pairing.Void = &Withdrawn{f.cause(v.Event), v.Why, v.Own}
	}
	if at == none && x.counts() && !pairing.Lost {
		at = f.table.n // where the pairing will make it known
	}
	h.pairings.put(about(at), pairing)
}

// followPairing remembers that the radio of the pairing noted last is taken for
// granted, until somebody schedules the device.
func (f *fold) followPairing(p events.DevicePaired) {
	if at := f.known(p.Device); at != none && f.table.at(at).Row == 0 {
		f.ownPast(f.ownDevice(at)).guessed = true
	}
}

// radioOf is the radio a device is scheduled with. One nobody scheduled counts
// as mesh: that is the one a push has to wait for.
func (f *fold) radioOf(t events.Tag) events.Radio {
	if at := f.named(t); at != none && f.table.at(at).row.Radio != "" {
		return f.table.at(at).row.Radio
	}
	return events.Mesh
}

func (f *fold) devicePaired(c *Cause, p events.DevicePaired) {
	f.workAt(c, f.known(p.Device))
	f.workOn(c, p.Hub)
	if f.lost[c.Ref()] {
		return
	}
	d, h := f.worked(c, p.Device), f.ownHub(p.Hub)
	at := f.known(p.Device)
	about := events.Device(d.tag())
	if h.Row == nil {
		f.oddity(c, events.Hub(p.Hub), "is not on the schedule")
	}
	switch {
	case d.Row != 0 && !d.row.Is.Pairs():
		f.oddity(c, about, "is a "+string(d.row.Is)+", which never pairs")
	case d.Row != 0 && d.row.Hub != p.Hub:
		f.oddity(c, about, "is scheduled on "+string(d.row.Hub)+", not "+string(p.Hub))
	}
	if d.Struck != 0 {
		f.oddity(c, about, "is struck from the schedule", f.causeOf(d.Struck).Ref())
	}
	if dark := d.dark(); dark != nil {
		f.oddity(c, about, "has no power, says the log", dark.Ref())
	}
	if d.Paired != nil && f.sight.sees(c.Event, d.Paired.Event) {
		f.oddity(c, about, "was paired already", d.Paired.Ref())
	}
	pairing := h.pairings.on.all[h.pairings.n-1]
	f.part(d, at)
	d.pair(&pairing)
	h.joined = append(h.joined, int32(at))
	d.Settles = max(c.At, c.Span.To) + events.Instant(f.settings.Span(events.SettleMinutes, 60_000_000_000).Milliseconds())
	d.Unpaired, d.Refused, d.Skipped, d.Pushed, d.Missed, d.Heard = 0, 0, 0, nil, 0, 0
	d.set(isHome|notMerged, false)
	d.set(notReady, h.Ready == nil)
	d.set(notListed, h.Program != "" && !h.holds(d))
	d.tune(h.tuned())
	if p.Serial != "" {
		f.serial(d, p.Serial, c)
	}
}

func (f *fold) deviceFitted(c *Cause, p events.DeviceFitted) {
	d := f.worked(c, p.Device)
	d.Fitted = f.this
	f.serial(d, p.Serial, c)
}

// serial notes which unit an entry says sits at a position.
func (f *fold) serial(d *device, s events.Serial, c *Cause) {
	p := f.ownPast(d)
	p.serials = append(p.serials, c)
	d.set(isMixed, d.is(isMixed) || serialIn(p.serials[0]) != s)
	d.Serial = s
	if d.Fitted == 0 {
		d.Fitted = f.this
	}
}

func (f *fold) deviceRefused(c *Cause, p events.DeviceRefused) {
	d := f.worked(c, p.Device)
	if d.Paired != nil && p.Why != events.AlreadyPaired {
		f.oddity(c, events.Device(d.tag()), "is paired, and here it refuses", d.Paired.Ref())
	}
	d.Refused = f.this
}

func (f *fold) deviceSkipped(c *Cause, p events.DeviceSkipped) {
	f.worked(c, p.Device).Skipped = f.this
}

func (f *fold) deviceUnpaired(c *Cause, p events.DeviceUnpaired) {
	d := f.worked(c, p.Device)
	if d.Paired == nil {
		f.oddity(c, events.Device(d.tag()), "is not paired, so it can't be unpaired")
	}
	f.leaveHub(d)
}

func (f *fold) deviceReplaced(c *Cause, p events.DeviceReplaced) {
	d := f.worked(c, p.Device)
	if p.Old != "" && d.Serial != "" && p.Old != d.Serial {
		f.oddity(c, events.Device(d.tag()), "had serial "+string(d.Serial)+", not "+string(p.Old))
	}
	f.leaveHub(d)
	d.Replaced, d.Fitted = f.this, f.this
	f.ownPast(d).serials = nil
	d.set(isMixed, false)
	f.serial(d, p.New, c)
}

// part takes a device out of those paired to its hub.
func (f *fold) part(d *device, at int) {
	if d.Paired != nil {
		h := f.ownHub(d.Paired.Hub)
		i := slices.Index(h.joined, int32(at))
		h.joined = slices.Delete(h.joined, i, i+1)
	}
}

// leaveHub forgets what only holds while a unit is paired.
func (f *fold) leaveHub(d *device) {
	f.part(d, f.named(d.tag()))
	d.pair(nil)
	d.Pushed, d.Missed, d.Heard, d.Checked, d.Unpaired = nil, 0, 0, nil, f.this
	d.set(channelChanged|notListed|notMerged|notReady|knowsChannel, false)
	d.channel = 0
}

func (f *fold) deviceHeard(c *Cause, p events.DeviceHeard) {
	f.workAt(c, f.known(p.Device))
	f.workOn(c, p.Hub)
	d := f.device(c, p.Device)
	if d == nil {
		return
	}
	switch {
	case d.Paired == nil:
		f.oddity(c, events.Device(d.tag()), "is heard, and not paired")
	case d.Paired.Hub != p.Hub:
		f.oddity(c, events.Device(d.tag()), "is heard by "+string(p.Hub)+", and paired to "+string(d.Paired.Hub))
	default:
		d.Heard = f.this
	}
}
