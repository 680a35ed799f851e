package ordeal

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// The command reads which boot this is from the kernel. A boot of the test's
// making is a file laid over the kernel's, in a mount namespace that only the
// command lives in: this test binary makes it and becomes the command.
const (
	bootEnv    = "ORDEAL_BOOT" // the file
	bootedEnv  = "ORDEAL_EXEC" // the command
	kernelBoot = "/proc/sys/kernel/random/boot_id"
)

func becomeBooted() error {
	if err := syscall.Mount(os.Getenv(bootEnv), kernelBoot, "", syscall.MS_BIND, ""); err != nil {
		return fmt.Errorf("lay a boot id over the kernel's: %w", err)
	}
	return syscall.Exec(os.Getenv(bootedEnv), os.Args, os.Environ())
}

// bootedIn makes a command start in the boot that a file names.
func bootedIn(c *exec.Cmd, file string) {
	self, err := os.Executable()
	if err != nil {
		self = os.Args[0]
	}
	c.Env = append(c.Env, bootEnv+"="+file, bootedEnv+"="+c.Path)
	c.Path = self
	c.SysProcAttr = &syscall.SysProcAttr{Unshareflags: syscall.CLONE_NEWNS}
}

// newBoot writes the id of a boot that was never before into the file.
func newBoot(t *testing.T, file string, n int) {
	t.Helper()
	require.NoError(t, os.WriteFile(file, fmt.Appendf(nil, "00000000-0000-4000-8000-%012x\n", n), 0o600))
}

// bootsPermitted says whether a process may be given a boot id here, and why not.
func bootsPermitted(t *testing.T) error {
	file := filepath.Join(t.TempDir(), "boot")
	newBoot(t, file, 1)
	c := exec.Command("cat", kernelBoot)
	c.Env = os.Environ()
	bootedIn(c, file)
	out, err := c.CombinedOutput()
	if err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	want, err := os.ReadFile(file)
	if err == nil && string(out) != string(want) {
		err = fmt.Errorf("the boot id reads %q", out)
	}
	return err
}
