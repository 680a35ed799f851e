//go:build unix

package beside

import (
	"syscall"
	"time"
)

// Spent is the processor time that this process has used so far.
func Spent() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
