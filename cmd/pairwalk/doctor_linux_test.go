package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"pairwalk/syncd/member/checkup"
)

// mounted puts a small disk in memory under a folder, or skips where the kernel
// permits no mount.
func mounted(t *testing.T, folder string) {
	t.Helper()
	if err := unix.Mount("pairwalk-test", folder, "tmpfs", 0, "size=1m,mode=700"); err != nil {
		t.Skipf("mounting a small disk is not permitted here: %v", err)
	}
	t.Cleanup(func() { require.NoError(t, unix.Unmount(folder, unix.MNT_DETACH)) })
}

// TestDoctorOnAFullDisk fills a real one: first there is too little room, then none
// at all, and what is there can be read all the same.
func TestDoctorOnAFullDisk(t *testing.T) {
	c := newClinic(t)
	require.NoError(t, os.Mkdir(c.home("small"), 0o700))
	mounted(t, c.home("small"))
	require.NoError(t, os.CopyFS(c.home("small"), os.DirFS(c.home("ann"))))
	a, code := c.looked("small", nil)
	require.Equal(t, exitFailed, code)
	require.True(t, has(a, "disk.room", checkup.Wrong))
	require.True(t, has(a, "disk.write", checkup.Well))
	require.True(t, has(a, "disk.place", checkup.Look), "and it lies in memory")

	full, err := os.Create(filepath.Join(c.home("small"), "ballast"))
	require.NoError(t, err)
	for err == nil {
		_, err = full.Write(make([]byte, 4<<10))
	}
	require.ErrorIs(t, err, unix.ENOSPC)
	require.NoError(t, full.Close())
	a, code = c.looked("small", nil)
	require.Equal(t, exitFailed, code)
	require.True(t, has(a, "disk.room", checkup.Wrong))
	require.True(t, has(a, "disk.write", checkup.Wrong))
	require.True(t, has(a, "journal.lines", checkup.Well))

	require.NoError(t, unix.Mount("", c.home("small"), "", unix.MS_REMOUNT|unix.MS_RDONLY, ""))
	a, _ = c.looked("small", nil)
	require.True(t, has(a, "disk.write", checkup.Wrong))
	require.True(t, has(a, "keys.join", checkup.Well), "a disk that can only be read is read")
}

// TestDoctorWithoutPermission looks at what this user may not read.
func TestDoctorWithoutPermission(t *testing.T) {
	c := newClinic(t)
	require.NoError(t, os.Chmod(c.site("ann")+"/keys.json", 0))
	code, out := c.lookedBarred("ann")
	require.Equal(t, exitFailed, code, out)
	require.Contains(t, out, "The keys can't be used, so this site can't be opened: ")
	require.Contains(t, out, "permission denied")

	sites := filepath.Join(c.home("ann"), "sites")
	require.NoError(t, os.Chmod(sites, 0))
	code, out = c.lookedBarred("ann")
	require.NoError(t, os.Chmod(sites, 0o700)) // or nobody could tidy up
	require.Equal(t, exitFailed, code, out)
	require.Contains(t, out, "The sites of this home can't be listed: ")
}

// lookedBarred has the doctor look in a process that files' modes bind, root's too.
func (c *clinic) lookedBarred(name string) (code int, out string) {
	c.t.Helper()
	var said bytes.Buffer
	cmd := exec.Command("pairwalk", "--home", c.home(name), "doctor")
	cmd.Stdout, cmd.Stderr = &said, &said
	started := make(chan error)
	go func() {
		runtime.LockOSThread() // which ends with this goroutine, and what it gave up with it
		err := giveUpOverride()
		if err == nil {
			err = cmd.Start()
		}
		started <- err
	}()
	err := <-started
	if errors.Is(err, unix.EPERM) {
		c.t.Skipf("not permitted here: %v", err)
	}
	require.NoError(c.t, err)
	var ended *exec.ExitError
	require.ErrorAs(c.t, cmd.Wait(), &ended)
	return ended.ExitCode(), said.String()
}

// giveUpOverride has this thread, and whatever it starts, be without root's leave to
// read and write what modes forbid (capabilities(7)).
func giveUpOverride() error {
	if os.Geteuid() != 0 {
		return nil
	}
	for _, capability := range []uintptr{unix.CAP_DAC_OVERRIDE, unix.CAP_DAC_READ_SEARCH} {
		if err := unix.Prctl(unix.PR_CAPBSET_DROP, capability, 0, 0, 0); err != nil {
			return fmt.Errorf("give up capability %d: %w", capability, err)
		}
	}
	return nil
}
