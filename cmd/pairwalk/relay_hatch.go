package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"pairwalk/events"
	"pairwalk/syncd/member"
	"pairwalk/syncd/relay"
)

const (
	relayingFile = "relaying"        // in the relay's home: the address of its hatch
	hatchPrefix  = "pairwalk-relay-" // of the private folder that holds it
)

// What is handed out of a hatch, of a site.
const (
	ofLog    = "log"
	ofPhotos = "photos"
)

// hatch is where a relay that runs hands out copies of what it holds, to commands of
// the same user on the same machine: a local socket in a folder that is theirs alone.
type hatch struct {
	folder  string // of the relay
	file    string
	ln      net.Listener
	server  *http.Server
	serving sync.WaitGroup
}

// openHatch claims a relay's home, which has one relay at a time.
func openHatch(folder string) (*hatch, error) {
	file := filepath.Join(folder, relayingFile)
	if atHatch(folder) != nil {
		return nil, errors.New("a relay runs in this home already; stop it, or give this one another --home")
	}
	clearHatch(file)
	dir, err := os.MkdirTemp("", hatchPrefix) // 0700
	if err != nil {
		return nil, fmt.Errorf("make socket folder: %w", err)
	}
	addr := filepath.Join(dir, "s")
	ln, err := net.Listen("unix", addr)
	if err == nil {
		err = os.WriteFile(file, []byte(addr+"\n"), servingMode)
	}
	if err != nil {
		if ln != nil {
			_ = ln.Close()
		}
		_ = os.Remove(dir)
		return nil, fmt.Errorf("listen for commands: %w; where a path is too long, set TMPDIR to a shorter one", err)
	}
	return &hatch{folder: folder, file: file, ln: ln}, nil
}

// clearHatch removes the socket of a relay that was killed. One that answers is another
// home's, of which this one is a copy.
func clearHatch(file string) {
	addr, err := os.ReadFile(file)
	if err != nil {
		return
	}
	name := strings.TrimSpace(string(addr))
	dir := filepath.Dir(name)
	if filepath.Dir(dir) != filepath.Clean(os.TempDir()) || !strings.HasPrefix(filepath.Base(dir), hatchPrefix) {
		return
	}
	if conn, err := net.DialTimeout("unix", name, time.Second); err == nil {
		_ = conn.Close()
		return
	}
	_ = os.Remove(name)
	_ = os.Remove(dir) // fails if anything else is in it
}

// serve begins to hand out.
func (h *hatch) serve(r *relay.Relay) {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, _ *http.Request) {
		where, err := filepath.Abs(h.folder)
		if err == nil {
			_, _ = io.WriteString(w, where)
		}
	})
	mux.HandleFunc("GET /{site}/{what}", func(w http.ResponseWriter, q *http.Request) {
		out := &begun{to: w}
		err := r.Lend(q.Context(), events.SiteID(q.PathValue("site")), func(m *member.Member) error {
			return copyOut(q.Context(), m, q.PathValue("what"), out)
		})
		switch {
		case err != nil && out.yes:
			panic(http.ErrAbortHandler) // the other side must not take it for whole
		case err != nil:
			http.Error(w, err.Error(), http.StatusServiceUnavailable)
		}
	})
	h.server = &http.Server{Handler: mux, ReadHeaderTimeout: callWait}
	h.serving.Go(func() { _ = h.server.Serve(h.ln) })
}

// begun knows whether anything was written.
type begun struct {
	to  io.Writer
	yes bool
}

func (b *begun) Write(p []byte) (int, error) {
	b.yes = true
	return b.to.Write(p)
}

// close ends the handing out, and takes the socket away with its folder.
func (h *hatch) close() error {
	_ = os.Remove(h.file)
	dir := filepath.Dir(h.ln.Addr().String())
	var err error
	if h.server == nil {
		err = h.ln.Close()
	} else {
		err = h.server.Close() // and so what it listens at, now or as soon as it does
		h.serving.Wait()
	}
	_ = os.Remove(dir)
	return err
}

// copyOut writes what a member holds.
func copyOut(ctx context.Context, m *member.Member, what string, w io.Writer) error {
	switch what {
	case ofLog:
		_, err := m.BundleOut(ctx, w)
		return err
	case ofPhotos:
		_, _, err := m.PhotosOut(w)
		return err
	}
	return fmt.Errorf("nothing called %q is handed out", what)
}

// atHatch is a way to ask the relay that runs in a home, nil where none does. A folder
// that was copied has the address of another's in it.
func atHatch(folder string) *http.Client {
	b, err := os.ReadFile(filepath.Join(folder, relayingFile))
	if err != nil {
		return nil
	}
	addr := strings.TrimSpace(string(b))
	c := &http.Client{Transport: &http.Transport{DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
		return (&net.Dialer{Timeout: time.Second}).DialContext(ctx, "unix", addr)
	}}}
	ctx, cancel := context.WithTimeout(context.Background(), callWait)
	defer cancel()
	var where strings.Builder
	if askHatch(ctx, c, "", &where) != nil {
		return nil
	}
	theirs, err := os.Stat(where.String())
	ours, errOurs := os.Stat(folder)
	if err != nil || errOurs != nil || !os.SameFile(theirs, ours) {
		return nil
	}
	return c
}
