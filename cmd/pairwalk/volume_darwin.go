package main

import (
	"golang.org/x/sys/unix"

	"pairwalk/events"
	"pairwalk/syncd/member/checkup"
)

// readVolume asks the system about the disk under a folder.
func readVolume(dir string) (room events.Maybe[int64], system string, lies checkup.Lie) {
	var s unix.Statfs_t
	if unix.Statfs(dir, &s) != nil {
		return room, "", checkup.Unsaid
	}
	lies = checkup.Share
	if s.Flags&unix.MNT_LOCAL != 0 {
		lies = checkup.Here
	}
	return events.Some(int64(s.Bavail) * int64(s.Bsize)), unix.ByteSliceToString(s.Fstypename[:]), lies
}
