package main

import (
	"golang.org/x/sys/unix"

	"pairwalk/events"
	"pairwalk/syncd/member/checkup"
)

// volumes are the sorts of file system that Linux tells apart by number, and where
// what they hold lies.
var volumes = map[int64]struct {
	name string
	lies checkup.Lie
}{
	unix.NFS_SUPER_MAGIC:       {"nfs", checkup.Share},
	unix.SMB_SUPER_MAGIC:       {"smb", checkup.Share},
	unix.SMB2_SUPER_MAGIC:      {"smb2", checkup.Share},
	unix.CIFS_SUPER_MAGIC:      {"cifs", checkup.Share},
	unix.AFS_SUPER_MAGIC:       {"afs", checkup.Share},
	unix.AFS_FS_MAGIC:          {"afs", checkup.Share},
	unix.CODA_SUPER_MAGIC:      {"coda", checkup.Share},
	unix.CEPH_SUPER_MAGIC:      {"ceph", checkup.Share},
	unix.V9FS_MAGIC:            {"9p", checkup.Share},
	unix.TMPFS_MAGIC:           {"tmpfs", checkup.Memory},
	unix.RAMFS_MAGIC:           {"ramfs", checkup.Memory},
	unix.EXT4_SUPER_MAGIC:      {"ext", checkup.Here},
	unix.XFS_SUPER_MAGIC:       {"xfs", checkup.Here},
	unix.BTRFS_SUPER_MAGIC:     {"btrfs", checkup.Here},
	unix.F2FS_SUPER_MAGIC:      {"f2fs", checkup.Here},
	unix.MSDOS_SUPER_MAGIC:     {"fat", checkup.Here},
	unix.EXFAT_SUPER_MAGIC:     {"exfat", checkup.Here},
	unix.OVERLAYFS_SUPER_MAGIC: {"overlay", checkup.Unsaid}, // whatever is below it
	unix.FUSE_SUPER_MAGIC:      {"fuse", checkup.Unsaid},    // a program, which may keep it anywhere
}

// readVolume asks the system about the disk under a folder.
func readVolume(dir string) (room events.Maybe[int64], system string, lies checkup.Lie) {
	var s unix.Statfs_t
	if unix.Statfs(dir, &s) != nil {
		return room, "", checkup.Unsaid
	}
	v := volumes[int64(s.Type)]
	return events.Some(int64(s.Bavail) * int64(s.Bsize)), v.name, v.lies
}
