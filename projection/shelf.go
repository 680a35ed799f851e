package projection

import "slices"

// shelf holds a list that only grows. All folds of one path put the same things on
// it in the same order, so each has some beginning of it, and the list is in memory
// once however many stages and answers there are. Whoever has to change what is on
// it (a position is called anew) goes on with a shelf of its own.
type shelf[T any] struct {
	all   []T
	about [][2]int32 // the devices each is about, by place in fold.table; none for none
}

// shelved is a list on a shelf, up to some place.
type shelved[T any] struct {
	on *shelf[T]
	n  int
}

// put puts one more on a list: what others have put there before, if any did.
func (x *shelved[T]) put(about [2]int32, one T) {
	if x.on == nil {
		x.on = &shelf[T]{}
	}
	if x.n == len(x.on.all) {
		x.on.all, x.on.about = append(x.on.all, one), append(x.on.about, about)
	}
	x.n++
}

// slip puts some in the midst of a list, where others that have it end before that or
// slip the same in: the first of them does it for all.
func (x *shelved[T]) slip(i int, more []T, slipped map[*shelf[T]]bool) {
	if x.on == nil {
		x.on = &shelf[T]{}
	}
	if s := x.on; !slipped[s] {
		slipped[s] = true
		s.all = slices.Insert(slices.Clip(s.all), i, more...)
		s.about = slices.Insert(slices.Clip(s.about), i, slices.Repeat([][2]int32{aboutNone}, len(more))...)
	}
	x.n += len(more)
}

// apart is the same list for a fold that nobody goes on from: it takes what others have
// put there, and what it puts beyond that is on a shelf of its own.
func (x shelved[T]) apart() shelved[T] {
	if x.on != nil {
		x.on = &shelf[T]{slices.Clip(x.on.all), slices.Clip(x.on.about)}
	}
	return x
}

// list is for reading.
func (x *shelved[T]) list() []T {
	if x.n == 0 {
		return nil
	}
	return x.on.all[:x.n:x.n]
}

// change changes those about a device, on a shelf of their own if there are any:
// end says at which end of them it stands.
func (x *shelved[T]) change(at int, change func(one *T, end int)) {
	own := false
	for i := range x.n {
		for end, p := range x.on.about[i] {
			if int(p) != at {
				continue
			}
			if !own {
				own = true
				x.part()
			}
			change(&x.on.all[i], end)
		}
	}
}

// replace puts another in the place of one, on a shelf of its own.
func (x *shelved[T]) replace(i int, one T) {
	x.part()
	x.on.all[i] = one
}

// part puts a list on a shelf of its own.
func (x *shelved[T]) part() {
	if x.on != nil {
		x.on = &shelf[T]{slices.Clone(x.on.all[:x.n]), slices.Clone(x.on.about[:x.n])}
	}
}

// cut takes away what others have put beyond the end of a list. Those who have it
// keep it.
func (x *shelved[T]) cut() {
	if x.on != nil && len(x.on.all) > x.n {
		x.on.all, x.on.about = x.on.all[:x.n:x.n], x.on.about[:x.n:x.n]
	}
}

// about is what stands on a shelf about one device, or none.
func about(at int) [2]int32 { return [2]int32{int32(at), none} }

var aboutNone = [2]int32{none, none}
