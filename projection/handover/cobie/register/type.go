package register

import (
	"fmt"
	"strconv"

	"pairwalk/events"
	"pairwalk/projection"
)

// kindHub is the kind of a hub beside the kinds of devices, as in a schedule.
const kindHub = "hub"

// product is what things of one type share.
type product struct {
	kind, maker, model, sort string
	months                   int // of warranty, 0 not told
}

func (p product) name() string { return words(" ", p.maker, p.model, p.sort, p.kind) }

func productOf(d *projection.Device) product {
	kind := string(d.Is)
	if kind == "" {
		kind = "device of unknown kind"
	}
	return product{kind, d.Maker, d.Model, d.Type, d.WarrantyMonths}
}

// batch is all there is of a product.
type batch struct {
	product
	by    *projection.Cause
	wired bool // all of it
}

// batches lists the products, hubs last, in the order of the first of each.
func (r *register) batches() []batch {
	var out []batch
	at := map[product]int{}
	note := func(p product, by *projection.Cause, wired bool) {
		i, there := at[p]
		if !there {
			i = len(out)
			at[p] = i
			out = append(out, batch{p, by, true})
		}
		out[i].by, out[i].wired = first(out[i].by, by), out[i].wired && wired
	}
	for i := range r.site.Devices {
		if d := &r.site.Devices[i]; d.Struck == nil {
			note(productOf(d), rowOf(d), saidWired(d))
		}
	}
	for i := range r.site.Hubs {
		if h := &r.site.Hubs[i]; h.Struck == nil {
			note(product{kind: kindHub}, h.Row, h.Circuit != "")
		}
	}
	return out
}

// saidWired says whether the schedule tells that mains feeds a device: by a circuit, or
// where it would be taken to run on a battery.
func saidWired(d *projection.Device) bool {
	return d.Power == events.Mains && (d.Circuit != "" || d.Is.UsualPower() != events.Mains)
}

func (r *register) typeRows() {
	t := r.tables["Type"]
	r.types = map[product]string{}
	batches := r.batches()
	like := map[string]int{}
	for _, b := range batches {
		like[fold(b.name())]++
	}
	for _, b := range batches {
		name := b.name()
		if like[fold(name)] > 1 {
			name += ", " + warrantyWords(b.months)
		}
		key := t.names.give(name)
		r.types[b.product] = key
		t.add(key, r.from(b.by, r.typeCells(b)))
		t.ask("Category", key, ownWords, false)
	}
}

func (r *register) typeCells(b batch) cells {
	row := cells{
		"Category": b.kind, "Description": words(", ", b.kind, b.sort), "ModelNumber": b.model,
	}
	if b.wired {
		row["AssetType"] = "Fixed"
	}
	if email, ok := address(b.maker); ok {
		row["Manufacturer"] = r.makers[fold(email)]
	}
	if b.months > 0 {
		row["WarrantyDurationParts"], row["WarrantyDurationUnit"] = strconv.Itoa(b.months), "month"
	}
	return row
}

func warrantyWords(months int) string {
	if months == 0 {
		return "warranty not told"
	}
	return fmt.Sprintf("warranty of %d months", months)
}
