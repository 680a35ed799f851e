package main

import (
	"encoding/binary"
	"errors"
	mathrand "math/rand/v2"
	"net"
	"os"
	"os/exec"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// wires join devices to a network of their own: each is a network namespace whose
// packets (a TUN device hands them over one by one) the test carries, loses, holds
// up or doubles. So the TCP at both ends is the system's own, and the air is ours.
type wires struct {
	t       *testing.T
	mu      sync.Mutex
	r       *mathrand.Rand
	air     air
	outlets []*outlet
	cuts    map[way]bool
	passed  map[way]int // bytes
	lost    int         // packets
	alarms  []alarm
	over    bool
}

// way is one direction of one link.
type way struct{ from, to byte }

// air is how packets fare on all links.
type air struct {
	loss, twice   float64
	delay, jitter time.Duration
}

// alarm goes off: its channel is closed once what it counts is reached.
type alarm struct {
	reached func() bool
	c       chan struct{}
}

// outlet is a device's place on the wires.
type outlet struct {
	last byte // of its address
	tun  *os.File
	do   chan func()
}

// newWires is a network for tests, skipped where this machine does not permit any.
func newWires(t *testing.T, r *mathrand.Rand, air air) *wires {
	w := &wires{t: t, r: mathrand.New(mathrand.NewPCG(r.Uint64(), 2)), air: air, cuts: map[way]bool{}, passed: map[way]int{}}
	t.Cleanup(w.end)
	return w
}

// outlet adds a device.
func (w *wires) outlet() *outlet {
	w.t.Helper()
	w.mu.Lock()
	defer w.mu.Unlock()
	o := &outlet{last: byte(len(w.outlets) + 1), do: make(chan func())}
	ready := make(chan error)
	go func() {
		runtime.LockOSThread() // never unlocked: the thread ends with its namespace
		err := o.open()
		ready <- err
		if err != nil {
			return
		}
		for f := range o.do {
			f()
		}
	}()
	err := <-ready
	if errors.Is(err, unix.EPERM) || errors.Is(err, unix.EACCES) || errors.Is(err, unix.ENOENT) {
		w.t.Skipf("network namespaces or TUN devices are not permitted here: %v", err)
	}
	require.NoError(w.t, err)
	w.outlets = append(w.outlets, o)
	go w.carry(o)
	return o
}

// open moves this thread to a network of its own, with one device to the outside.
func (o *outlet) open() error {
	if err := unix.Unshare(unix.CLONE_NEWNET); err != nil {
		return os.NewSyscallError("unshare", err)
	}
	fd, err := unix.Open("/dev/net/tun", unix.O_RDWR|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return os.NewSyscallError("open /dev/net/tun", err)
	}
	dev, err := unix.NewIfreq("air0")
	if err == nil {
		dev.SetUint16(unix.IFF_TUN | unix.IFF_NO_PI)
		err = unix.IoctlIfreq(fd, unix.TUNSETIFF, dev)
	}
	if err == nil {
		err = errors.Join(up("lo", net.IPv4(127, 0, 0, 1), 8), up("air0", o.ip(), 24))
	}
	if err != nil {
		_ = unix.Close(fd)
		return os.NewSyscallError("make a TUN device", err)
	}
	o.tun = os.NewFile(uintptr(fd), "air0")
	return nil
}

func (o *outlet) ip() net.IP { return net.IPv4(10, 77, 0, o.last) }

// up gives a network device an address and switches it on.
func up(name string, ip net.IP, bits int) error {
	s, err := unix.Socket(unix.AF_INET, unix.SOCK_DGRAM|unix.SOCK_CLOEXEC, 0)
	if err != nil {
		return err
	}
	defer unix.Close(s)
	for _, x := range []struct {
		what uint
		addr []byte
	}{{unix.SIOCSIFADDR, ip.To4()}, {unix.SIOCSIFNETMASK, net.CIDRMask(bits, 32)}} {
		dev, err := unix.NewIfreq(name)
		if err != nil {
			return err
		}
		if err := errors.Join(dev.SetInet4Addr(x.addr), unix.IoctlIfreq(s, x.what, dev)); err != nil {
			return err
		}
	}
	dev, err := unix.NewIfreq(name)
	if err != nil {
		return err
	}
	dev.SetUint16(unix.IFF_UP | unix.IFF_RUNNING)
	return unix.IoctlIfreq(s, unix.SIOCSIFFLAGS, dev)
}

// start starts a process on the device.
func (o *outlet) start(c *exec.Cmd) error {
	started := make(chan error)
	o.do <- func() { started <- c.Start() }
	return <-started
}

// carry takes up what a device sends, until the wires end.
func (w *wires) carry(o *outlet) {
	packet := make([]byte, 64<<10)
	for {
		n, err := o.tun.Read(packet)
		if err != nil {
			return
		}
		const header = 20
		if n < header || packet[0]>>4 != 4 || packet[16] != 10 {
			continue // to nobody in particular
		}
		w.send(way{o.last, packet[19]}, append([]byte(nil), packet[:n]...))
	}
}

// send has a packet fare as the air and the cuts have it.
func (w *wires) send(on way, packet []byte) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.over || int(on.to) > len(w.outlets) || on.to == 0 {
		return
	}
	copies := 1
	switch {
	case w.cuts[on], w.r.Float64() < w.air.loss:
		w.lost++
		copies = 0
	case w.r.Float64() < w.air.twice:
		copies = 2
	}
	to := w.outlets[on.to-1].tun
	for range copies {
		w.passed[on] += int(binary.BigEndian.Uint16(packet[2:]))
		if held := w.air.delay + time.Duration(w.r.Float64()*float64(w.air.jitter)); held > 0 {
			time.AfterFunc(held, func() { _, _ = to.Write(packet) })
		} else {
			_, _ = to.Write(packet) // what a device has no room for is lost, as anywhere
		}
	}
	w.tell()
}

func (w *wires) tell() {
	kept := w.alarms[:0]
	for _, s := range w.alarms {
		if s.reached() {
			close(s.c)
		} else {
			kept = append(kept, s)
		}
	}
	w.alarms = kept
}

func (w *wires) when(reached func() bool) <-chan struct{} {
	s := alarm{reached, make(chan struct{})}
	w.alarms = append(w.alarms, s)
	return s.c
}

// after gives a signal once so many more bytes have passed.
func (w *wires) after(on way, bytes int) <-chan struct{} {
	w.mu.Lock()
	defer w.mu.Unlock()
	target := w.passed[on] + bytes
	return w.when(func() bool { return w.passed[on] >= target })
}

// cut lets nothing pass any more in the directions given, and tells nobody. It
// gives a signal once n packets were lost since.
func (w *wires) cut(n int, ways ...way) <-chan struct{} {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, x := range ways {
		w.cuts[x] = true
	}
	target := w.lost + n
	return w.when(func() bool { return w.lost >= target })
}

// join undoes every cut.
func (w *wires) join() {
	w.mu.Lock()
	defer w.mu.Unlock()
	clear(w.cuts)
}

// figures are the bytes that passed one way, and the packets lost on all.
func (w *wires) figures(on way) (passed, lost int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.passed[on], w.lost
}

func (w *wires) end() {
	w.mu.Lock()
	w.over = true
	w.mu.Unlock()
	for _, o := range w.outlets {
		close(o.do)
		o.tun.Close()
	}
}
