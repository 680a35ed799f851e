package main

import (
	"path/filepath"
	"strings"

	"golang.org/x/sys/windows"

	"pairwalk/events"
	"pairwalk/syncd/member/checkup"
)

// readVolume asks the system about the disk under a folder.
func readVolume(dir string) (room events.Maybe[int64], system string, lies checkup.Lie) {
	root := filepath.VolumeName(dir)
	if strings.HasPrefix(root, `\\`) {
		lies = checkup.Share
	}
	if at, err := windows.UTF16PtrFromString(root + `\`); err == nil && lies == checkup.Unsaid {
		switch windows.GetDriveType(at) {
		case windows.DRIVE_REMOTE:
			lies = checkup.Share
		case windows.DRIVE_FIXED, windows.DRIVE_REMOVABLE:
			lies = checkup.Here
		case windows.DRIVE_RAMDISK:
			lies = checkup.Memory
		}
	}
	at, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return room, "", lies
	}
	var free uint64
	if windows.GetDiskFreeSpaceEx(at, &free, nil, nil) == nil {
		room = events.Some(int64(free))
	}
	return room, "", lies
}
