//go:build unix

package beside

import (
	"syscall"
	"time"
)

// Spent is the processor time that this process has used so far, and the processes
// that it started and waited for.
func Spent() (all time.Duration) {
	for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
		var u syscall.Rusage
		if syscall.Getrusage(who, &u) != nil {
			return 0
		}
		all += time.Duration(u.Utime.Nano() + u.Stime.Nano())
	}
	return all
}
