package main

import (
	"bytes"
	"os"
	"path/filepath"
	"time"

	"pairwalk/events"
	"pairwalk/projection"
	"pairwalk/projection/handover"
)

// handsOver makes the owner's pack, and has it checked by somebody who has nothing
// but the pack.
func (t *story) handsOver() {
	t.pass(45 * time.Minute)
	t.ben.meets(t.ada)
	t.ada.log(events.WorkSigned{Of: events.Site(), Scope: "handed over, with what is open", Signer: "Olga", As: "the owner's caretaker"})
	t.ada.meets(t.ben)
	if t.err != nil {
		return
	}
	folder := filepath.Join(t.dir, "pack")
	made, err := t.pack(t.ada.Member, projection.Moment{})
	t.check(err)
	bens, err := t.pack(t.ben.Member, projection.Moment{})
	t.check(err)
	if t.err != nil {
		return
	}
	t.check(t.lay(folder, made.pack))
	doc := made.answer(t.app, folder)
	t.ada.tell("makes the owner's pack: %s, %s; it says itself that %s and %s are open, and what the office has to fill in", plural(len(doc.Files), "file"), size(doc.Bytes), plural(doc.Missing.Tests, "functional test"), plural(doc.Missing.Faults, "fault"))
	t.hold(differing(made.pack, bens.pack) == 2, "Ben's pack differs from Ada's by his seal and its sum alone")
	t.ben.tell("makes one of his own log: the same, byte for byte, but for his seal")

	check, err := t.checkPack(folder)
	t.check(err)
	t.hold(len(check.Problems) == 0 && check.Pages == string(handover.AllPages), "the pack proves itself: %v", check.Problems)
	t.tellOf("the owner checks it with no log of their own: every page follows from the log in it")
	table := filepath.Join(folder, "csv", "devices.csv")
	whole, err := os.ReadFile(table)
	t.check(err)
	t.check(os.WriteFile(table, bytes.Replace(whole, []byte("driver"), []byte("dimmer"), 1), 0o644))
	check, err = t.checkPack(folder)
	t.check(err)
	t.hold(len(check.Problems) == 1, "one changed word is found: %v", check.Problems)
	if t.err == nil {
		t.tellOf("somebody changes one word in a table, and it is found: " + check.Problems[0])
	}
	t.check(os.WriteFile(table, whole, 0o644))
	t.tellOf("(the table is put right again; " + t.name + " verify " + quoted(folder) + ")")
}

// tellOf prints what somebody sees who is not on the site.
func (t *story) tellOf(words string) {
	if t.err == nil {
		t.printf("             %s\n", words)
	}
}

// lay writes a pack's files in a folder.
func (t *story) lay(folder string, p handover.Pack) error {
	to, err := disk{}.shelve(folder, true)
	if err != nil {
		return err
	}
	if err := t.fill(to, p); err != nil {
		to.drop()
		return err
	}
	return to.keep()
}

// differing counts the files in which two packs differ.
func differing(a, b handover.Pack) int {
	n := max(len(a.Files), len(b.Files)) - min(len(a.Files), len(b.Files))
	for i := range min(len(a.Files), len(b.Files)) {
		if a.Files[i].Name != b.Files[i].Name || !bytes.Equal(a.Files[i].Content, b.Files[i].Content) {
			n++
		}
	}
	return n
}
