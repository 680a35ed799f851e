package ordeal

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/cmd/pairwalk/ordeal/powercut"
)

// mains is a machine whose power goes: a disk that forgets, and which boot it is.
type mains struct {
	t    *testing.T
	dir  string // where its disk is shown
	boot string // the file with the boot's id
	disk *powercut.Disk
	off  func() error
	cuts int
}

// newMains starts a machine, or skips the test where that is not permitted.
func newMains(t *testing.T) *mains {
	t.Helper()
	if err := bootsPermitted(t); err != nil {
		t.Skipf("a mount namespace is not permitted here: %v", err)
	}
	p := &mains{t: t, dir: filepath.Join(t.TempDir(), "disk"), boot: filepath.Join(t.TempDir(), "boot"), disk: powercut.New()}
	require.NoError(t, os.Mkdir(p.dir, 0o700))
	newBoot(t, p.boot, 0)
	var err error
	if p.off, err = p.disk.Mount(p.dir); err != nil {
		t.Skipf("a FUSE mount is not permitted here: %v", err)
	}
	t.Cleanup(func() {
		p.disk.Release()
		require.NoError(t, p.off())
	})
	return p
}

// desk is an installation on this machine. Neither its folder nor the one above it
// is there yet.
func (p *mains) desk() *desk {
	d := newDesk(p.t, filepath.Join(p.dir, "config", "home"))
	d.boot, d.power = p.boot, true
	return d
}

// lasts lets processes work until so many calls have changed something on the
// disk, then takes the power, and brings it back. Processes that ended by
// themselves before lose it as well.
func (p *mains) lasts(calls int, f powercut.Fate, work func(w *crew)) {
	p.t.Helper()
	var w crew
	p.disk.GoesAfter(calls)
	struck := make(chan struct{})
	go func() {
		defer close(struck)
		<-p.disk.Gone()
		w.strike()
		p.disk.Release()
	}()
	work(&w)
	p.disk.Cut()
	<-struck
	require.NoError(p.t, p.off())
	p.disk = p.disk.After(f)
	var err error
	p.off, err = p.disk.Mount(p.dir)
	require.NoError(p.t, err)
	p.cuts++
	newBoot(p.t, p.boot, p.cuts)
}

// fate takes turns between the least that was promised, everything, and chance.
func fate(n int, r *rand.Rand) powercut.Fate {
	switch n % 4 {
	case 0:
		return powercut.Fate{}
	case 1:
		return powercut.Fate{All: true}
	}
	return powercut.Fate{Chance: r}
}

// anything allows whatever a disk without power may show.
func anything(string) bool { return true }

// tells prints the figures.
func (p *mains) tells(d *desk) {
	p.t.Helper()
	p.t.Logf("%d power cuts; %d entries acknowledged, 0 lost, 0 numbers given twice; %d torn ends; %d feeds begun anew; %d files of torn bytes kept aside",
		p.cuts, d.ledger.len(), d.torn, d.feeds()-1, d.aside)
}
