package handover

import (
	"fmt"
	"maps"
	"slices"

	"pairwalk/events"
)

// feeds are the feeds of the log, in a fixed order.
func (c *composer) feeds() []events.FeedID {
	return slices.Sorted(maps.Keys(c.site.Heads))
}

// record says what the pack was made from, and how to prove it.
func (c *composer) record() Part {
	heads := Table{
		Caption: "Heads: the newest entry of each feed that this pack was made from",
		Columns: []Column{{"Member", 2, false}, {"Feed", 5, false}, {"Entry", 1, true}, {"SHA-256 of the entry's signed bytes", 5, false}},
		None:    "The log is empty.",
	}
	for _, f := range c.feeds() {
		h := c.site.Heads[f]
		heads.Rows = append(heads.Rows, []string{said(c.site.MemberName(f.Key())), string(f), fmt.Sprint(h.Seq), h.Hash.String()})
	}
	return Part{
		ID: "record", Title: "The record",
		Lead:   "What this pack was made from, under which settings, which photos there are, and how anybody can prove that it is whole.",
		Blocks: append([]Block{heads, c.settings(), c.photoTable(), Heading{Text: "How to verify"}}, verifyWords...),
	}
}

// settings lists those that somebody set otherwise than they come.
func (c *composer) settings() Table {
	t := Table{
		Caption: "Settings that differ from their defaults",
		Columns: []Column{{"Setting", 3, false}, {"Value", 2, false}, {"Default", 2, false}, {"Unit", 1, false}, {"What it is", 5, false}, {"Set", 3, false}},
		None:    "All settings are as they come.",
	}
	for _, s := range events.Settings {
		v := c.site.Settings.Value(s.Key)
		if v == s.Default {
			continue
		}
		set := ""
		if e := c.site.Settings.Event(s.Key); e != nil {
			if x, ok := c.find(e.Ref()); ok {
				set = c.whenBy(&x)
			}
		}
		t.Rows = append(t.Rows, []string{string(s.Key), said(v), orElse(s.Default, "none"), s.Unit, s.Doc, set})
	}
	return t
}

var verifyWords = []Block{
	Text{"With this program: pairwalk verify DIR, where DIR is the folder of the pack. It checks every file against SHA256SUMS, opens every seal of the log in it, and makes the pack once more from the log to compare."},
	Text{"Without it: run sha256sum -c SHA256SUMS in the folder of the pack. Every line must say OK."},
	Text{"The log in the pack is one entry a line, as it was signed. Each line ends in a signature of 88 characters of base64, made by its member's own key (Ed25519, RFC 8032). It covers the words “pairwalk event v1”, a line break, and all of the line before “,\"sig\":”. Each line also carries the SHA-256 of the one before it in the same feed, over the same bytes without the signature; so nobody can change, drop or slip in an entry and leave the heads above as they are. A feed's name begins with the public key that signs it."},
	Text{"A checksum shows that a file is whole. The signatures show who said what. Neither shows that what was said is true."},
}
