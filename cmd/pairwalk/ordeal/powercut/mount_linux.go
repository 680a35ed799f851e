package powercut

import (
	"context"
	"syscall"

	"github.com/hanwen/go-fuse/v2/fs"
	"github.com/hanwen/go-fuse/v2/fuse"
)

// Mount shows the disk at a folder, by FUSE and without its helper program. It
// fails where that is not permitted.
func (d *Disk) Mount(dir string) (unmount func() error, err error) {
	server, err := fs.Mount(dir, &entry{d: d, n: d.root}, &fs.Options{
		MountOptions: fuse.MountOptions{DirectMountStrict: true, FsName: "powercut", Name: "powercut", MaxWrite: 256 << 10},
	})
	if err != nil {
		return nil, err
	}
	return func() error {
		err := server.Unmount()
		if err == nil {
			server.Wait()
		}
		return err
	}, nil
}

// entry is a node as FUSE asks for it. Nothing of it is cached by the kernel.
type entry struct {
	fs.Inode
	d *Disk
	n *node
}

// handle is an open file.
type handle struct{ atEnd bool }

var (
	_ fs.NodeGetattrer = (*entry)(nil)
	_ fs.NodeSetattrer = (*entry)(nil)
	_ fs.NodeLookuper  = (*entry)(nil)
	_ fs.NodeReaddirer = (*entry)(nil)
	_ fs.NodeMkdirer   = (*entry)(nil)
	_ fs.NodeCreater   = (*entry)(nil)
	_ fs.NodeRenamer   = (*entry)(nil)
	_ fs.NodeUnlinker  = (*entry)(nil)
	_ fs.NodeRmdirer   = (*entry)(nil)
	_ fs.NodeOpener    = (*entry)(nil)
	_ fs.NodeReader    = (*entry)(nil)
	_ fs.NodeWriter    = (*entry)(nil)
	_ fs.NodeFsyncer   = (*entry)(nil)
	_ fs.NodeStatfser  = (*entry)(nil)
)

func (n *node) mode() uint32 {
	if n.folder {
		return syscall.S_IFDIR | 0o700
	}
	return syscall.S_IFREG | 0o600
}

func (n *node) attr(out *fuse.Attr) {
	out.Ino, out.Mode, out.Nlink, out.Size = n.number, n.mode(), 1, uint64(len(n.now))
}

func (e *entry) child(ctx context.Context, n *node, out *fuse.EntryOut) *fs.Inode {
	n.attr(&out.Attr)
	return e.NewInode(ctx, &entry{d: e.d, n: n}, fs.StableAttr{Mode: n.mode(), Ino: n.number})
}

func (e *entry) Getattr(_ context.Context, _ fs.FileHandle, out *fuse.AttrOut) syscall.Errno {
	return e.d.reading(func() syscall.Errno {
		e.n.attr(&out.Attr)
		return 0
	})
}

func (e *entry) Setattr(_ context.Context, _ fs.FileHandle, in *fuse.SetAttrIn, out *fuse.AttrOut) syscall.Errno {
	size, sized := in.GetSize()
	return e.d.changing(func() syscall.Errno {
		if sized {
			e.n.resize(int64(size))
		}
		e.n.attr(&out.Attr)
		return 0
	})
}

func (e *entry) Lookup(ctx context.Context, name string, out *fuse.EntryOut) (i *fs.Inode, errno syscall.Errno) {
	errno = e.d.reading(func() syscall.Errno {
		n := e.n.names[name]
		if n == nil {
			return syscall.ENOENT
		}
		i = e.child(ctx, n, out)
		return 0
	})
	return i, errno
}

func (e *entry) Readdir(context.Context) (s fs.DirStream, errno syscall.Errno) {
	errno = e.d.reading(func() syscall.Errno {
		var list []fuse.DirEntry
		for name, n := range e.n.names {
			list = append(list, fuse.DirEntry{Name: name, Ino: n.number, Mode: n.mode()})
		}
		s = fs.NewListDirStream(list)
		return 0
	})
	return s, errno
}

func (e *entry) Mkdir(ctx context.Context, name string, _ uint32, out *fuse.EntryOut) (i *fs.Inode, errno syscall.Errno) {
	errno = e.d.changing(func() syscall.Errno {
		n := e.d.node(true)
		e.n.change(change{name: name, is: n})
		i = e.child(ctx, n, out)
		return 0
	})
	return i, errno
}

func (e *entry) Create(ctx context.Context, name string, flags uint32, _ uint32, out *fuse.EntryOut) (i *fs.Inode, h fs.FileHandle, how uint32, errno syscall.Errno) {
	errno = e.d.changing(func() syscall.Errno {
		n := e.n.names[name]
		switch { // another process may have been quicker
		case n == nil:
			n = e.d.node(false)
			e.n.change(change{name: name, is: n})
		case flags&syscall.O_EXCL != 0:
			return syscall.EEXIST
		case flags&syscall.O_TRUNC != 0:
			n.resize(0)
		}
		i = e.child(ctx, n, out)
		return 0
	})
	return i, &handle{flags&syscall.O_APPEND != 0}, fuse.FOPEN_DIRECT_IO, errno
}

// Rename moves a name within its folder; nothing here moves one elsewhere.
func (e *entry) Rename(_ context.Context, name string, to fs.InodeEmbedder, newName string, flags uint32) syscall.Errno {
	if other, ok := to.(*entry); !ok || other.n != e.n || flags != 0 {
		return syscall.EXDEV
	}
	return e.d.changing(func() syscall.Errno {
		n := e.n.names[name]
		if n == nil {
			return syscall.ENOENT
		}
		e.n.change(change{name: newName, is: n, was: name})
		return 0
	})
}

func (e *entry) Unlink(_ context.Context, name string) syscall.Errno {
	return e.d.changing(func() syscall.Errno {
		e.n.change(change{name: name})
		return 0
	})
}

func (e *entry) Rmdir(_ context.Context, name string) syscall.Errno {
	return e.d.changing(func() syscall.Errno {
		if n := e.n.names[name]; n != nil && len(n.names) > 0 {
			return syscall.ENOTEMPTY
		}
		e.n.change(change{name: name})
		return 0
	})
}

func (e *entry) Open(_ context.Context, flags uint32) (fs.FileHandle, uint32, syscall.Errno) {
	errno := e.d.reading(func() syscall.Errno { return 0 })
	if errno == 0 && flags&syscall.O_TRUNC != 0 {
		errno = e.d.changing(func() syscall.Errno {
			e.n.resize(0)
			return 0
		})
	}
	return &handle{flags&syscall.O_APPEND != 0}, fuse.FOPEN_DIRECT_IO, errno
}

func (e *entry) Read(_ context.Context, _ fs.FileHandle, dest []byte, off int64) (r fuse.ReadResult, errno syscall.Errno) {
	errno = e.d.reading(func() syscall.Errno {
		if off < int64(len(e.n.now)) {
			dest = dest[:copy(dest, e.n.now[off:])]
		} else {
			dest = nil
		}
		return 0
	})
	return fuse.ReadResultData(dest), errno
}

func (e *entry) Write(_ context.Context, h fs.FileHandle, b []byte, off int64) (uint32, syscall.Errno) {
	errno := e.d.changing(func() syscall.Errno {
		if open, ok := h.(*handle); ok && open.atEnd {
			off = int64(len(e.n.now))
		}
		e.n.write(b, off)
		return 0
	})
	return uint32(len(b)), errno
}

func (e *entry) Fsync(context.Context, fs.FileHandle, uint32) syscall.Errno {
	return e.d.spending(func() syscall.Errno { return 0 }, e.n.sync)
}

func (e *entry) Statfs(_ context.Context, out *fuse.StatfsOut) syscall.Errno {
	out.Bsize, out.Frsize, out.NameLen = 4096, 4096, 255
	out.Blocks, out.Bfree, out.Bavail = 1<<20, 1<<19, 1<<19
	return 0
}
