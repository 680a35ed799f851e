package projection

import "pairwalk/events"

// digest is a running sum of words, after FNV-1a (Fowler, Noll, Vo), a word at a time.
// It finds what is another, and guards against nobody.
type digest uint64

func (d *digest) word(x uint64) {
	*d = (*d ^ digest(x)) * 0x100000001b3
	*d ^= *d >> 29 // a word at a time leaves the low bits to themselves
}

func (d *digest) text(s string) {
	for i := range len(s) {
		d.word(uint64(s[i]))
	}
	d.word(1 << 8) // ends it
}

func (d *digest) turn(t *Turn) {
	l, bits := &t.Look, uint64(0)
	for i, on := range [...]bool{l.Struck, l.Dark, l.Held, l.Skipped, l.Refused, l.Missed, l.Faulty, l.Gone} {
		if on {
			bits |= 1 << i
		}
	}
	d.word(uint64(t.At))
	d.word(uint64(t.Device)<<8 | bits)
	d.word(uint64(l.Settles))
	d.text(string(l.State))
}

// mark adds an entry that a course marks.
func (d *digest) mark(x *laid, about []events.Subject) {
	d.word(uint64(x.At))
	for _, b := range x.Event.Hash[:8] {
		d.word(uint64(b))
	}
	for _, s := range about {
		d.text(s.ID)
	}
}
