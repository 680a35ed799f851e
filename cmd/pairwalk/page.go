package main

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"time"

	"pairwalk/cmd/pairwalk/web"
	"pairwalk/events"
	"pairwalk/events/invite"
	"pairwalk/events/journal"
	"pairwalk/syncd/member"
)

// Where the page is served, unless told otherwise; and the files in the site's
// folder that let an address be good after a restart.
const (
	defaultPage = "127.0.0.1:24518"
	tokenFile   = "page.token"
	certFile    = "page.crt"
	certKeyFile = "page.key"
)

// pageFlags say where the page is served.
type pageFlags struct {
	Page     string `help:"Where the page is: HOST:PORT, or none. 127.0.0.1:24518 unless given. Beyond this machine it is served by TLS alone." placeholder:"HOST:PORT"`
	PageCert string `help:"A certificate of your own for that, in PEM; one is made unless given." placeholder:"FILE"`
	PageKey  string `help:"Its key, in PEM." placeholder:"FILE"`
	PageAnew bool   `help:"Give the page a new address, and let the one there was open nothing any more, where somebody may have seen it."`
}

// pageServer is a page that is being served.
type pageServer struct {
	server *http.Server
	ln     net.Listener
	note   string // why it is not where one might look for it
	addrs  []string
	prints string // of the certificate made here, for a person to compare
}

// servePage serves a member's page until close.
func (f pageFlags) serve(a *app, m *member.Member, at *meeting, folder string) (*pageServer, error) {
	if f.Page == "none" {
		return nil, nil
	}
	ln, note, err := f.listen()
	if err != nil {
		return nil, err
	}
	s := &pageServer{ln: ln, note: note}
	if err := s.begin(f, a, m, at, folder); err != nil {
		return nil, errors.Join(err, ln.Close())
	}
	return s, nil
}

// listen takes the address. The usual one gives way to a free one where another
// program has it.
func (f pageFlags) listen() (ln net.Listener, note string, err error) {
	if f.Page != "" {
		ln, err = net.Listen("tcp", f.Page)
		if err != nil {
			err = fmt.Errorf("serve the page at %q: %w; give --page as HOST:PORT, or none", f.Page, err)
		}
		return ln, "", err
	}
	ln, err = net.Listen("tcp", defaultPage)
	if errors.Is(err, syscall.EADDRINUSE) {
		ln, err = net.Listen("tcp", "127.0.0.1:0")
		note = "another program has the usual port 24518, so the page is at another; a bookmark would show that program the address, so if it is not yours, don't use it, and start once with --page-anew"
	}
	if err != nil {
		err = fmt.Errorf("serve the page: %w", err)
	}
	return ln, note, err
}

func (s *pageServer) begin(f pageFlags, a *app, m *member.Member, at *meeting, folder string) error {
	world := a.world
	token, err := tokenOf(folder, world, f.PageAnew)
	if err != nil {
		return err
	}
	host, port, _ := net.SplitHostPort(s.ln.Addr().String())
	given, _, _ := net.SplitHostPort(f.Page)
	beyond := !net.ParseIP(host).IsLoopback()
	hosts := hostsOf(given, host, port)
	page, err := web.New(web.Options{Member: m, Now: world.Now, Token: token, Hosts: hosts, Meeting: pageMeeting{at}, Sheet: readBytes, Pack: a.packer(), Doctor: a.doctor(m.Info().ID)})
	if err != nil {
		return err
	}
	scheme := "http"
	if beyond {
		scheme = "https"
		if s.prints, err = s.secure(f, folder, hosts); err != nil {
			return err
		}
	}
	for _, h := range hosts {
		s.addrs = append(s.addrs, fmt.Sprintf("%s://%s/#t=%s", scheme, h, token))
	}
	ctx, cut := context.WithCancel(context.Background())
	s.server = &http.Server{
		Handler: page, ReadHeaderTimeout: 10 * time.Second, ErrorLog: slog.NewLogLogger(world.Log.Handler(), slog.LevelWarn),
		BaseContext: func(net.Listener) context.Context { return ctx },
	}
	s.server.RegisterOnShutdown(cut) // streams of changes would never end by themselves
	go func() { _ = s.server.Serve(s.ln) }()
	return nil
}

// secure puts TLS before the listener, and says the print of a certificate made
// here.
func (s *pageServer) secure(f pageFlags, folder string, hosts []string) (string, error) {
	if (f.PageCert == "") != (f.PageKey == "") {
		return "", usef("--page-cert and --page-key go together")
	}
	cert, key, prints := f.PageCert, f.PageKey, ""
	if cert == "" {
		cert, key = filepath.Join(folder, certFile), filepath.Join(folder, certKeyFile)
		var err error
		if prints, err = web.OwnCertificate(cert, key, hosts); err != nil {
			return "", err
		}
	}
	pair, err := tls.LoadX509KeyPair(cert, key)
	if err != nil {
		return "", fmt.Errorf("read the page's certificate: %w", err)
	}
	s.ln = tls.NewListener(s.ln, &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS13, NextProtos: []string{"http/1.1"}})
	return prints, nil
}

// close ends the page: what is being answered is answered, streams end.
func (s *pageServer) close() error {
	if s == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), finishWait)
	defer cancel()
	if err := s.server.Shutdown(ctx); err != nil {
		return s.server.Close()
	}
	return nil
}

// tokenShape is what a token looks like in its file; a power cut may have left
// zeros there, or less.
var tokenShape = regexp.MustCompile(`^[\w-]{32,}\s*$`)

// tokenOf is the token of a site's page on this device. It stays, so that an open
// page and a bookmark outlive a restart, until a new one is asked for.
func tokenOf(folder string, world member.World, anew bool) (string, error) {
	if b, err := os.ReadFile(filepath.Join(folder, tokenFile)); err == nil && tokenShape.Match(b) && !anew {
		return string(bytes.TrimSpace(b)), nil
	}
	token, err := web.DrawToken(world.Rand)
	if err != nil {
		return "", err
	}
	if err := journal.Replace(journal.Dir(folder), tokenFile, []byte(token+"\n")); err != nil {
		return "", fmt.Errorf("keep the page's token: %w", err)
	}
	return token, nil
}

// hostsOf are the names by which a page may be called, the likeliest first.
func hostsOf(given, host, port string) []string {
	ip := net.ParseIP(host)
	var names []string
	if ip.IsUnspecified() {
		if addrs, err := net.InterfaceAddrs(); err == nil {
			for _, a := range addrs {
				if n, ok := a.(*net.IPNet); ok && !n.IP.IsLoopback() && !n.IP.IsLinkLocalUnicast() {
					names = append(names, n.IP.String())
				}
			}
		}
		if name, err := os.Hostname(); err == nil {
			names = append(names, name)
		}
		names = append(names, "127.0.0.1", "localhost")
	} else {
		names = append(names, host)
		if ip.IsLoopback() {
			names = append(names, "localhost")
		}
	}
	if given != "" && net.ParseIP(given) == nil && !slices.Contains(names, given) {
		names = append([]string{given}, names...)
	}
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = net.JoinHostPort(n, port)
	}
	return out
}

// readBytes reads a file that a page was given.
func readBytes(m *member.Member, file []byte, table string, day time.Time) (member.Plan, error) {
	return readSheet(m, bytes.NewReader(file), table, day)
}

// pageMeeting shows a page how this device meets others.
type pageMeeting struct{ at *meeting }

func (t pageMeeting) Addrs() []string { return t.at.Addrs() }

func (t pageMeeting) Within() []web.Within {
	var out []web.Within
	for _, x := range t.at.Peers() {
		out = append(out, web.Within{Member: t.at.m.NameOf(x.Key), Addr: x.At})
	}
	return out
}

func (t pageMeeting) Calls() []web.Call {
	var out []web.Call
	for _, c := range t.at.Calls() {
		if c.Spare {
			continue
		}
		call := web.Call{Addr: c.Addr, Up: c.Up, Why: c.Why}
		if c.Server != (events.Key("")) {
			call.Member = t.at.m.NameOf(c.Server)
		}
		out = append(out, call)
	}
	return out
}

func (t pageMeeting) Call(addr string)   { t.at.visit(addr) }
func (t pageMeeting) HangUp(addr string) { t.at.leave(addr) }

func (t pageMeeting) Points() ([]invite.Meeting, error) { return meetingPoints(t.at.m, nil, t.at) }

func (t pageMeeting) News() (<-chan struct{}, func()) {
	c, stop := t.at.news()
	return c, stop
}

// pageWords say where the page is.
func (s *pageServer) words() []string {
	if s == nil {
		return nil
	}
	out := []string{"The page is at " + s.addrs[0]}
	if s.note != "" {
		out = append(out, "("+s.note+")")
	}
	if strings.HasPrefix(s.addrs[0], "https") {
		for _, a := range s.addrs[1:] {
			out = append(out, "            or "+a)
		}
		out = append(out, "It is reached over the network: everybody with that address can read and write this site's log as you.")
		if s.prints != "" {
			out = append(out, "The browser will warn of a certificate it does not know; compare its SHA-256: "+s.prints)
		}
	}
	return append(out, "The address is the key to the page: keep it to yourself.")
}
