//go:build !linux

package powercut

import "errors"

// Mount fails: only Linux shows this disk to processes.
func (d *Disk) Mount(string) (unmount func() error, err error) {
	return nil, errors.New("a disk that forgets is shown on Linux only")
}
