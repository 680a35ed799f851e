package ordeal

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

var (
	kills = flag.Int("kills", 8, "how many times processes are killed, in each story")
	cuts  = flag.Int("cuts", 4, "how many times the power goes, in each story")
	seed  = flag.Uint64("seed", 0, "draw the moments of an earlier run again; 0 draws anew")
)

// binary is the command, built once.
var binary string

func TestMain(m *testing.M) {
	if os.Getenv(bootEnv) != "" {
		fmt.Fprintln(os.Stderr, becomeBooted())
		os.Exit(1)
	}
	flag.Parse()
	os.Exit(withBinary(m.Run))
}

func withBinary(work func() int) int {
	dir, err := os.MkdirTemp("", "ordeal-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	binary = filepath.Join(dir, "pairwalk")
	build := exec.Command("go", append(append([]string{"build"}, buildFlags...), "-o", binary, "pairwalk/cmd/pairwalk")...)
	build.Stderr = os.Stderr
	if err := build.Run(); err != nil {
		fmt.Fprintln(os.Stderr, "build the command:", err)
		return 1
	}
	return work()
}
