package projection

import (
	"iter"

	"pairwalk/events"
)

// eras are the times in which site time's own clock ran undisturbed, oldest
// first. A comparison with that clock holds for as long as it is known to have
// gone on running as it did: a reboot or a step ends an era, and so does the
// last look at the old running.
type eras struct {
	list []*era
	like map[likeness]int // by which clocks they were of, as places in list
}

// likeness is a boot, and bases so near to each other that they are one.
type likeness struct {
	boot string
	base int64
}

func likenessOf(boot string, base int64) likeness {
	width := int64(BaseSlack + 1)
	return likeness{boot, (base - ((base%width)+width)%width) / width}
}

// era is one running of site time's clock, between the first and last looks at
// it. The first era has no beginning that is known, and the last no end.
type era struct {
	base             int64
	from, until      events.Instant
	earliest, newest bool
}

// newEras sorts looks at the clock, in record order, into eras. Looks by devices
// without a clock that only runs forward tell nothing.
func newEras(readings iter.Seq[events.Stamp]) eras {
	x := eras{like: map[likeness]int{}}
	for s := range readings {
		if s.Mono.Known() {
			x.take(s)
		}
	}
	return x
}

func (x *eras) take(s events.Stamp) {
	if y := x.of(s.Mono.Boot, s.Base()); y != nil {
		y.from, y.until = min(y.from, s.Wall.At), max(y.until, s.Wall.At)
		return
	}
	n := len(x.list)
	if n > 0 {
		x.list[n-1].newest = false
	}
	x.like[likenessOf(s.Mono.Boot, s.Base())] = n
	x.list = append(x.list, &era{base: s.Base(), from: s.Wall.At, until: s.Wall.At, earliest: n == 0, newest: true})
}

// of is the era in which the clock had a base, the newest if there are several.
func (x *eras) of(boot string, base int64) *era {
	near, found := likenessOf(boot, base), -1
	for _, d := range []int64{-1, 0, 1} {
		if i, ok := x.like[likeness{boot, near.base + d}]; ok && sameBase(x.list[i].base, base) {
			found = max(found, i)
		}
	}
	if found < 0 {
		return nil
	}
	return x.list[found]
}

// runOn says whether a new look at the clock leaves every era as it is.
func (x *eras) runOn(s events.Stamp) bool {
	if !s.Mono.Known() {
		return true
	}
	y := x.of(s.Mono.Boot, s.Base())
	return y != nil && y.newest && s.Wall.At >= y.from
}

// ranAt says whether the clock is known to have run in this era when it showed a
// time, which is known within ± err.
func (y *era) ranAt(at int64, err slack) bool {
	if y == nil {
		return false
	}
	return (y.earliest || at-err.up() >= int64(y.from)) && (y.newest || at+err.up() <= int64(y.until))
}
