//go:build !unix

package beside

import "time"

// Spent is 0 here: the system does not tell.
func Spent() time.Duration { return 0 }
