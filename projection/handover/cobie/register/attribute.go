package register

import (
	"strconv"

	"pairwalk/events"
	"pairwalk/projection"
)

var channelName = map[events.Radio]string{events.Mesh: "Mesh channel", events.Star: "Star channel"}

// attributeRows tells what a component is set to, which no other sheet has room for.
func (r *register) attributeRows() {
	for i := range r.site.Hubs {
		h := &r.site.Hubs[i]
		if h.Struck != nil {
			continue
		}
		for _, radio := range events.Radios {
			if ch, ok := h.Channels[radio]; ok {
				r.attribute(r.hubs[h.Hub], channelName[radio], strconv.Itoa(ch.Number), &ch.Set)
			}
		}
		r.attribute(r.hubs[h.Hub], "Program", string(h.Program), h.Loaded)
	}
	for i := range r.site.Devices {
		d := &r.site.Devices[i]
		if d.Struck != nil {
			continue
		}
		key, row := r.tags[d.Device], rowOf(d)
		if d.Radio != events.UsualRadio {
			r.attribute(key, "Radio", string(d.Radio), row)
		}
		if d.Power != d.Is.UsualPower() {
			r.attribute(key, "Power", string(d.Power), row)
		}
		if d.Emergency {
			r.attribute(key, "Emergency", "yes", row)
		}
		r.attribute(key, "State", string(d.State), sinceOf(d, row))
	}
}

// sinceOf is the entry behind a device's state, or else its row.
func sinceOf(d *projection.Device, row *projection.Cause) *projection.Cause {
	if d.Since == nil {
		return row
	}
	return d.Since
}

func (r *register) attribute(component, name, value string, by *projection.Cause) {
	if value == "" {
		return
	}
	r.tables["Attribute"].add(name, r.from(by, cells{
		"Category": "As Built", "SheetName": "Component", "RowName": component, "Value": value,
		"Unit": notApplicable, "Description": notApplicable, "AllowedValues": notApplicable,
	}))
}
