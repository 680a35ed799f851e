package asbuilt

import (
	"strconv"

	"pairwalk/events"
)

// devices is the schedule as pairwalk import takes it back: hubs, then devices.
func (b *builder) devices() table {
	t := table{header: "tag kind hub radio floor room x_m y_m z_m circuit power emergency maker model type warranty_start warranty_months geometry note"}
	for i := range b.Site.Hubs {
		h := &b.Site.Hubs[i]
		if h.Struck != nil {
			continue
		}
		x, y, z := place(h.Place)
		t.add(string(h.Hub), "hub", "", string(h.Radio), string(h.Floor), string(h.Room), x, y, z, string(h.Circuit), "", "", "", "", "", "", "", "", h.Note)
	}
	for i := range b.Site.Devices {
		d := &b.Site.Devices[i]
		if _, named := b.Site.Hub(events.HubID(d.Device)); named || d.Struck != nil || d.Is == "" || d.DeviceListed.Hub == "" {
			continue // no schedule can say it
		}
		x, y, z := place(d.Place)
		t.add(string(d.Device), string(d.Is), string(d.DeviceListed.Hub), unless(d.Radio, events.UsualRadio), string(d.Floor), string(d.Room), x, y, z,
			string(d.Circuit), unless(d.Power, d.Is.UsualPower()), yesOrNothing(d.Emergency), d.Maker, d.Model, d.Type,
			d.WarrantyStart, above(int64(d.WarrantyMonths)), d.Geometry, d.Note)
	}
	return t
}

// unless leaves out what an empty cell is taken for: the log doesn't keep whether
// anybody said it.
func unless[T ~string](said, usual T) string {
	if said == usual {
		return ""
	}
	return string(said)
}

// yesOrNothing never says no, which no schedule has to say.
func yesOrNothing(is bool) string {
	if is {
		return "yes"
	}
	return ""
}

func (b *builder) floors() table {
	t := table{header: "floor level elevation_m"}
	for _, f := range b.Site.Floors {
		elevation := ""
		if f.Elevation.Known {
			elevation = metres(f.Elevation.Value)
		}
		t.add(string(f.Floor), strconv.Itoa(f.Level), elevation)
	}
	return t
}

func (b *builder) links() table {
	t := table{header: "a b rssi_dbm pdr lqi when ref"}
	for _, l := range b.Site.Links {
		pdr := ""
		if l.PDR.Known {
			pdr = scaled(l.PDR.Value, 6)
		}
		t.add(string(l.A), string(l.B), number(l.RSSI), pdr, number(l.LQI), b.at(&l.Measured), ref(&l.Measured))
	}
	return t
}

func (b *builder) circuits() table {
	t := table{header: "circuit tag kind known_by off_since off_ref"}
	for _, c := range b.Site.Circuits {
		for i := range b.Site.Hubs {
			if h := &b.Site.Hubs[i]; h.Struck == nil && h.Circuit == c.ID {
				t.add(string(c.ID), string(h.Hub), "hub", "schedule", b.at(c.Off), ref(c.Off))
			}
		}
		learned := map[events.Tag]bool{}
		for _, tag := range c.Learned {
			learned[tag] = true
		}
		for _, tag := range c.Feeds {
			how, kind := "schedule", ""
			if learned[tag] {
				how = "went dark"
			}
			if d, ok := b.Site.Device(tag); ok {
				kind = string(d.Is)
			}
			t.add(string(c.ID), string(tag), kind, how, b.at(c.Off), ref(c.Off))
		}
		if len(c.Feeds) == 0 {
			t.add(string(c.ID), "", "", "", b.at(c.Off), ref(c.Off))
		}
	}
	return t
}
