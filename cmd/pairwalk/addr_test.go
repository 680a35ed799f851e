package main

import (
	"fmt"
	"math/rand/v2"
	"net"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
)

// Addresses for processes that are told where to listen lie below the ports that
// systems draw from by themselves (RFC 6335: from 49152 on; Linux: from 32768 on), so
// that no connection or listener made meanwhile comes by one of them.
const lowPort, highPort = 20000, 32000

var addrs = struct {
	mu    sync.Mutex
	given map[int]bool
}{given: map[int]bool{}}

// findAddr is an address of this machine that nobody listens on, and that was not given
// before.
func findAddr() (string, error) {
	addrs.mu.Lock()
	defer addrs.mu.Unlock()
	for range 100 {
		port := lowPort + rand.IntN(highPort-lowPort)
		if addrs.given[port] {
			continue
		}
		addrs.given[port] = true
		addr := fmt.Sprintf("127.0.0.1:%d", port)
		if ln, err := net.Listen("tcp", addr); err == nil {
			return addr, ln.Close()
		}
	}
	return "", fmt.Errorf("somebody listens on each of 100 ports from %d to %d", lowPort, highPort)
}

func freeAddr(t testing.TB) string {
	addr, err := findAddr()
	require.NoError(t, err)
	return addr
}

// takeAddr puts an address into a variable where nobody listens now.
func takeAddr(ts *testscript.TestScript, _ bool, args []string) {
	addr, err := findAddr()
	ts.Check(err)
	ts.Setenv(args[0], addr)
}
