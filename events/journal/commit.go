package journal

import (
	"fmt"
	"maps"
	"slices"
)

// commit makes the draft durable and then visible.
func (d *draft) commit() error {
	if d.own != "" {
		// First of all: a feed that is known to go on elsewhere must not be
		// continued here, even if storing these lines fails.
		if err := d.j.replaceOwn(d.own, d.now); err != nil {
			return err
		}
	}
	var receipts []byte
	var done []*strand
	for _, name := range slices.Sorted(maps.Keys(d.strands)) {
		c := d.strands[name]
		if !c.rewrite && len(c.places) == c.from {
			continue
		}
		b, err := d.write(c)
		if err != nil {
			return err
		}
		receipts = append(receipts, b...)
		done = append(done, c.strand)
	}
	if err := d.j.appendReceipts(receipts, nil); err != nil {
		return err
	}
	d.j.publish(done...)
	for _, c := range d.forks {
		d.taken.Forks = append(d.taken.Forks, c.asFork())
	}
	return nil
}

// write makes one strand durable and returns its receipts, still to be written.
func (d *draft) write(c *change) ([]byte, error) {
	mine := c.name == string(d.j.own.Feed)
	if !c.rewrite && !c.spoilt {
		if err := d.j.extend(c.strand, c.from); err != nil {
			return nil, err
		}
		return issue(c.strand, c.from, false, d.now, false)
	}
	var old []byte
	if c.size > 0 { // else there is no file yet
		var err error
		if old, err = d.j.site.Read(c.file()); err != nil {
			return nil, fmt.Errorf("read damaged feed: %w", err)
		}
	}
	if mine && d.j.ownFile != nil { // its name is about to mean another file
		_ = d.j.ownFile.Close()
		d.j.ownFile = nil
	}
	if !c.rewrite {
		c.places = slices.Clone(c.places)
	}
	if err := d.j.rewrite(c.strand, old); err != nil {
		return nil, err
	}
	// What is new at the end came from a peer, also in the own feed; what else of
	// that has no record was said here. All of it is written once more below.
	if _, err := issue(c.strand, c.from, false, d.now, false); err != nil {
		return nil, err
	}
	return issue(c.strand, 0, mine, d.now, true)
}
