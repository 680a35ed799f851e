package asbuilt

import (
	"strconv"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover/cobie/register"
)

// serials is the as-built record, struck positions included.
func (b *builder) serials() table {
	t := table{header: "tag was kind hub paired_to floor room circuit serial label serial_ref state since " +
		"fitted_at fitted_by paired_at paired_by how replaced_at replaced_by pushed_at program checked_at check " +
		"accuracy_m needs marks struck_at struck_why"}
	for i := range b.Site.Devices {
		d := &b.Site.Devices[i]
		p := b.pairing(d)
		pushedAt, program := "", ""
		if d.Pushed != nil {
			pushedAt, program = b.at(&d.Pushed.Cause), string(d.Pushed.Program)
		}
		checkedAt, check := "", ""
		if d.Checked != nil {
			checkedAt, check = b.at(&d.Checked.Done), passed(d.Checked.Pass)
		}
		accuracy := ""
		if d.Accuracy > 0 {
			accuracy = metres(d.Accuracy)
		}
		t.add(string(d.Device), join(d.Was), string(d.Is), string(d.DeviceListed.Hub), p.hub, string(d.Floor), string(d.Room), string(d.Circuit),
			string(d.Serial), register.BarCode(d), ref(d.Fitted), string(d.State), b.at(d.Since),
			b.at(d.Fitted), b.by(d.Fitted), p.at, p.by, p.how, b.at(d.Replaced), b.by(d.Replaced), pushedAt, program, checkedAt, check,
			accuracy, join(d.Needs), join(d.Flags), b.at(d.Struck), struckWhy(d.Struck))
	}
	return t
}

// paired are the cells that tell of a pairing.
type paired struct{ hub, at, by, how string }

func (b *builder) pairing(d *projection.Device) paired {
	if d.Paired == nil {
		return paired{}
	}
	return paired{string(d.Paired.Hub), b.at(&d.Paired.Cause), b.by(&d.Paired.Cause), string(d.Paired.How)}
}

func struckWhy(c *projection.Cause) string {
	if c == nil {
		return ""
	}
	switch p := c.Event.Payload.(type) {
	case events.DeviceStruck:
		return p.Why
	case events.HubStruck:
		return p.Why
	}
	return ""
}

func passed(pass bool) string {
	if pass {
		return "pass"
	}
	return "fail"
}

func join[T ~string](list []T) string {
	words := make([]string, len(list))
	for i, w := range list {
		words[i] = string(w)
	}
	return strings.Join(words, "; ")
}

func (b *builder) hubs() table {
	t := table{header: "hub radio floor room x_m y_m z_m circuit mesh_channel mesh_channel_at star_channel star_channel_at " +
		"program loaded_at ready_at lost_at lost_why listed paired pushed_at pushed_program struck_at struck_why note"}
	for i := range b.Site.Hubs {
		h := &b.Site.Hubs[i]
		listed, joined := b.onHub(h.Hub)
		pushedAt, program := "", ""
		if p, ok := h.LastPush(); ok {
			pushedAt, program = b.at(&p.Cause), string(p.Program)
		}
		mesh, meshAt := b.channel(h, events.Mesh)
		star, starAt := b.channel(h, events.Star)
		x, y, z := place(h.Place)
		t.add(string(h.Hub), string(h.Radio), string(h.Floor), string(h.Room), x, y, z, string(h.Circuit), mesh, meshAt, star, starAt,
			string(h.Program), b.at(h.Loaded), b.at(h.Ready), b.at(h.Lost), h.LostWhy, strconv.Itoa(listed), strconv.Itoa(joined),
			pushedAt, program, b.at(h.Struck), struckWhy(h.Struck), h.Note)
	}
	return t
}

// onHub counts the positions listed on a hub and the devices paired to it.
func (b *builder) onHub(id events.HubID) (listed, joined int) {
	for i := range b.Site.Devices {
		d := &b.Site.Devices[i]
		if d.Struck == nil && d.DeviceListed.Hub == id {
			listed++
		}
		if d.Struck == nil && d.Paired != nil && d.Paired.Hub == id {
			joined++
		}
	}
	return listed, joined
}

func (b *builder) channel(h *projection.Hub, radio events.Radio) (number, at string) {
	ch, ok := h.Channels[radio]
	if !ok {
		return "", ""
	}
	return strconv.Itoa(ch.Number), b.at(&ch.Set)
}
