package register

import (
	"pairwalk/events"
	"pairwalk/events/label"
	"pairwalk/projection"
)

func (r *register) componentRows() {
	t := r.tables["Component"]
	r.tags, r.hubs = map[events.Tag]string{}, map[events.HubID]string{}
	for i := range r.site.Hubs {
		if h := &r.site.Hubs[i]; h.Struck == nil {
			r.hubs[h.Hub] = t.names.give(string(h.Hub))
			t.add(r.hubs[h.Hub], r.from(h.Row, r.hubCells(h)))
		}
	}
	for i := range r.site.Devices {
		d := &r.site.Devices[i]
		if d.Struck != nil {
			continue
		}
		key := t.names.give(string(d.Device))
		r.tags[d.Device] = key
		t.add(key, r.from(rowOf(d), r.deviceCells(d)))
		if d.Serial != "" && d.Has(projection.FlagConflict) {
			t.ask("SerialNumber", key, "entries contradict each other; see the conflicts that stand", false)
		}
	}
}

func (r *register) hubCells(h *projection.Hub) cells {
	return cells{
		"TypeName":    r.types[product{kind: kindHub}],
		"Space":       r.spaces[h.Room],
		"Description": words("; ", kindHub, onCircuit(h.Circuit), h.Note),
		"TagNumber":   string(h.Hub),
	}
}

func (r *register) deviceCells(d *projection.Device) cells {
	emergency := ""
	if d.Emergency {
		emergency = "emergency"
	}
	row := cells{
		"TypeName":          r.types[productOf(d)],
		"Space":             r.spaces[d.Room],
		"Description":       words("; ", productOf(d).kind, emergency, onHub(hubOf(d)), onCircuit(d.Circuit), d.Note),
		"SerialNumber":      string(d.Serial),
		"WarrantyStartDate": d.WarrantyStart,
		"TagNumber":         string(d.Device),
		"BarCode":           BarCode(d),
	}
	if c := installed(d); c != nil {
		row["InstallationDate"] = r.day(c.At)
	}
	return row
}

func onHub(id events.HubID) string {
	if id == "" {
		return ""
	}
	return "hub " + string(id)
}

func onCircuit(id events.CircuitID) string {
	if id == "" {
		return ""
	}
	return "circuit " + string(id)
}

// hubOf is the hub a device is paired to, or else listed on.
func hubOf(d *projection.Device) events.HubID {
	if d.Paired != nil {
		return d.Paired.Hub
	}
	return d.Hub
}

// installed is the entry by which the unit that is there now came: the one that
// replaced another, or else the first that says it was fitted or paired.
func installed(d *projection.Device) *projection.Cause {
	if d.Replaced != nil {
		return d.Replaced
	}
	c := d.Fitted
	if d.Paired != nil {
		c = first(c, &d.Paired.Cause)
	}
	return c
}

// BarCode is what the unit's label said in public. The log should hold no secret;
// reading it again makes sure, whoever wrote the entry.
func BarCode(d *projection.Device) string {
	if d.Fitted == nil {
		return ""
	}
	p, ok := d.Fitted.Event.Payload.(events.DeviceFitted)
	if !ok || p.Label == "" {
		return ""
	}
	read, err := label.Read(p.Label)
	if err != nil || read.Secret {
		return ""
	}
	return read.Text
}
