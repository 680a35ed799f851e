// Package powercut is a file system that forgets what was not synced when its
// power goes. It is for tests.
//
// # What a cut may leave
//
// Nothing is promised but what POSIX lets a program rely on:
//
//   - bytes of a file are safe once the file was synced. Of those written since,
//     any sectors of 512 bytes may be there and any not; where one is not, the old
//     bytes stand, or zeros where there were none. A file may have its old length,
//     its new one, or one between at the end of a sector;
//   - names in a folder are safe once the folder was synced. Of those made, moved
//     and removed since, any may have come to be and any not. A file whose name is
//     safe may still have no content: syncing one does not sync the other;
//   - a move over another name either happened or did not.
//
// A Fate chooses among these: the least that was promised, everything that was
// written, or chance for each sector and each name.
//
// # When the power goes
//
// A Disk counts the calls that change something, and its power goes in the middle
// of one of them: that call has left in memory what it may leave on disk, and
// never returns. Neither does any call after it, until Release, so that whoever is
// killed in between has done nothing after the cut, and has heard nothing.
//
// # The cast
//
// A Disk is what processes see and what is safe of it; a node is a file or a
// folder of it. Mount shows it to processes by FUSE, where the system permits.
// Cut makes the disk that is found after the power is back.
package powercut
