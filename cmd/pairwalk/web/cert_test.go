package web_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"math/big"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pairwalk/cmd/pairwalk/web"
)

var certHosts = []string{"192.0.2.7:24518", "[2001:db8::7]:24518", "127.0.0.1:24518", "localhost:24518", "works-laptop:24518"}

// certOf reads a certificate that is on disk.
func certOf(t *testing.T, file string) *x509.Certificate {
	b, err := os.ReadFile(file)
	require.NoError(t, err)
	block, rest := pem.Decode(b)
	require.NotNil(t, block)
	require.Empty(t, rest)
	cert, err := x509.ParseCertificate(block.Bytes)
	require.NoError(t, err)
	return cert
}

func TestACertificateIsMadeOnceForAllNames(t *testing.T) {
	dir := t.TempDir()
	crt, key := filepath.Join(dir, "page.crt"), filepath.Join(dir, "page.key")
	prints, err := web.OwnCertificate(crt, key, certHosts)
	require.NoError(t, err)
	cert := certOf(t, crt)
	for _, name := range []string{"192.0.2.7", "2001:db8::7", "127.0.0.1", "localhost", "works-laptop"} {
		require.NoError(t, cert.VerifyHostname(name))
	}
	for _, name := range []string{"192.0.2.8", "rebound.example", "works-laptop.rebound.example", "24518"} {
		require.Error(t, cert.VerifyHostname(name))
	}
	sum := sha256.Sum256(cert.Raw)
	require.Equal(t, strings.TrimSuffix(strings.ToUpper(fmt.Sprintf("% x", sum[:])), ""), strings.ReplaceAll(prints, ":", " "))
	require.Equal(t, []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, cert.ExtKeyUsage)
	require.False(t, cert.IsCA)
	require.LessOrEqual(t, cert.NotAfter.Sub(cert.NotBefore), 825*24*time.Hour, "browsers' limit; common practice, no source")
	for _, file := range []string{crt, key} {
		info, err := os.Stat(file)
		require.NoError(t, err)
		require.Equal(t, os.FileMode(0o600), info.Mode().Perm(), file)
	}
	_, err = tls.LoadX509KeyPair(crt, key)
	require.NoError(t, err)

	for _, hosts := range [][]string{certHosts, certHosts[:2], {"works-laptop:1"}} {
		again, err := web.OwnCertificate(crt, key, hosts)
		require.NoError(t, err)
		require.Equal(t, prints, again, "kept as long as it is good for the names")
		require.Equal(t, cert.Raw, certOf(t, crt).Raw)
	}
}

func TestACertificateIsMadeAnew(t *testing.T) {
	for name, spoil := range map[string]func(t *testing.T, crt, key string) []string{
		"another name":    func(*testing.T, string, string) []string { return append([]string{"site-office:24518"}, certHosts...) },
		"another address": func(*testing.T, string, string) []string { return append([]string{"192.0.2.8:24518"}, certHosts...) },
		"no certificate":  func(t *testing.T, crt, _ string) []string { require.NoError(t, os.Remove(crt)); return certHosts },
		"no key":          func(t *testing.T, _, key string) []string { require.NoError(t, os.Remove(key)); return certHosts },
		"garbage": func(t *testing.T, crt, _ string) []string {
			require.NoError(t, os.WriteFile(crt, []byte("garbage"), 0o600))
			return certHosts
		},
		"a damaged one": func(t *testing.T, crt, _ string) []string { spoilPEM(t, crt); return certHosts },
		"near its end": func(t *testing.T, crt, key string) []string {
			writeCert(t, crt, key, 29*24*time.Hour)
			return certHosts
		},
		"past its end": func(t *testing.T, crt, key string) []string { writeCert(t, crt, key, -time.Hour); return certHosts },
		"the key of other": func(t *testing.T, _, key string) []string {
			other := t.TempDir()
			_, err := web.OwnCertificate(other+"/c", other+"/k", certHosts)
			require.NoError(t, err)
			b, err := os.ReadFile(other + "/k")
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(key, b, 0o600))
			return certHosts
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			crt, key := filepath.Join(dir, "page.crt"), filepath.Join(dir, "page.key")
			prints, err := web.OwnCertificate(crt, key, certHosts)
			require.NoError(t, err)
			hosts := spoil(t, crt, key)
			again, err := web.OwnCertificate(crt, key, hosts)
			require.NoError(t, err)
			require.NotEqual(t, prints, again)
			pair, err := tls.LoadX509KeyPair(crt, key)
			require.NoError(t, err)
			for _, h := range hosts {
				host, _, _ := net.SplitHostPort(h)
				require.NoError(t, pair.Leaf.VerifyHostname(host))
			}
			require.Greater(t, time.Until(pair.Leaf.NotAfter), 30*24*time.Hour)
		})
	}
	dir := t.TempDir()
	crt, key := dir+"/page.crt", dir+"/page.key"
	writeCert(t, crt, key, 31*24*time.Hour)
	was := certOf(t, crt).Raw
	_, err := web.OwnCertificate(crt, key, certHosts)
	require.NoError(t, err)
	require.Equal(t, was, certOf(t, crt).Raw, "a month is enough")
}

func spoilPEM(t *testing.T, file string) {
	b, err := os.ReadFile(file)
	require.NoError(t, err)
	block, _ := pem.Decode(b)
	require.NoError(t, os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: block.Type, Bytes: block.Bytes[:len(block.Bytes)/2]}), 0o600))
}

// writeCert writes a certificate for the names that lasts so long.
func writeCert(t *testing.T, crt, key string, lasts time.Duration) {
	k, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	form := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "x"}, NotBefore: time.Now().Add(-48 * time.Hour), NotAfter: time.Now().Add(lasts)}
	for _, h := range certHosts {
		host, _, _ := net.SplitHostPort(h)
		if ip := net.ParseIP(host); ip != nil {
			form.IPAddresses = append(form.IPAddresses, ip)
		} else {
			form.DNSNames = append(form.DNSNames, host)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, form, form, &k.PublicKey, k)
	require.NoError(t, err)
	secret, err := x509.MarshalPKCS8PrivateKey(k)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(crt, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o600))
	require.NoError(t, os.WriteFile(key, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}), 0o600))
}

func TestACertificateThatCannotBeKept(t *testing.T) {
	dir := t.TempDir()
	_, err := web.OwnCertificate(filepath.Join(dir, "none", "page.crt"), filepath.Join(dir, "page.key"), certHosts)
	require.ErrorIs(t, err, os.ErrNotExist)
	_, err = web.OwnCertificate(filepath.Join(dir, "page.crt"), filepath.Join(dir, "none", "page.key"), certHosts)
	require.ErrorIs(t, err, os.ErrNotExist)
}

// A browser that trusts the certificate gets the page, over TLS alone.
func TestThePageIsServedByIt(t *testing.T) {
	dir := t.TempDir()
	x := small(t).serve()
	addr := x.near.Listener.Addr().String()
	_, err := web.OwnCertificate(dir+"/c", dir+"/k", []string{addr})
	require.NoError(t, err)
	pair, err := tls.LoadX509KeyPair(dir+"/c", dir+"/k")
	require.NoError(t, err)
	ln, err := tls.Listen("tcp", "127.0.0.1:0", &tls.Config{Certificates: []tls.Certificate{pair}})
	require.NoError(t, err)
	server := &http.Server{Handler: x.Page}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(ln) }()
	t.Cleanup(func() {
		require.NoError(t, server.Close())
		require.True(t, errors.Is(<-ended, http.ErrServerClosed))
	})
	pool := x509.NewCertPool()
	pool.AddCert(certOf(t, dir+"/c"))
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}}}
	defer client.CloseIdleConnections()
	r := x.request(http.MethodGet, "/", nil)
	r.URL.Scheme, r.URL.Host, r.Host = "https", ln.Addr().String(), addr
	got, err := client.Do(r)
	require.NoError(t, err)
	defer got.Body.Close()
	require.Equal(t, http.StatusOK, got.StatusCode)
}

func TestTokensAreDrawn(t *testing.T) {
	a, err := web.DrawToken(rand.Reader)
	require.NoError(t, err)
	b, err := web.DrawToken(rand.Reader)
	require.NoError(t, err)
	require.NotEqual(t, a, b)
	require.Regexp(t, `^[A-Za-z0-9_-]{32}$`, a, "24 bytes, as the page reads them from its address")
	_, err = web.DrawToken(strings.NewReader("too short"))
	require.Error(t, err)
}
