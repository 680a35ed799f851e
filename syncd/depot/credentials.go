package depot

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"strings"
	"time"

	"github.com/nats-io/nkeys"
)

// Names of the files that credentials are.
const (
	CAFile     = "ca.pem"       // of the cluster's authority: who vouches for its servers
	UserFile   = "user.nk"      // the nkey that the cluster knows a relay by
	SecretFile = "relay.secret" // what a relay is
)

// Relays is how many relays the cluster's configuration has room for.
const Relays = 2

// authorityHolds is how long the authority's certificate holds, ServerHolds how long
// those of the servers do.
const (
	authorityHolds = 20 * 365 * 24 * time.Hour
	ServerHolds    = 5 * 365 * 24 * time.Hour
)

// Credential is one file of a cluster's credentials.
type Credential struct {
	Path    string // slash-separated, below the folder of the credentials
	Content []byte
	Words   string // what it is, and who needs it
}

// NewCredentials makes everything by which three servers and two relays know each
// other. Nodes are the servers' host names; now is the time that certificates begin
// to hold.
func NewCredentials(nodes []string, now time.Time) ([]Credential, error) {
	ca, err := newAuthority(now)
	if err != nil {
		return nil, err
	}
	out := []Credential{
		{"authority/ca.key", ca.keyPEM, "makes further servers' certificates; keep it off the servers"},
		{"authority/" + CAFile, ca.certPEM, "the cluster's authority"},
	}
	for _, node := range nodes {
		cert, key, err := ca.server(node, now)
		if err != nil {
			return nil, err
		}
		out = append(out,
			Credential{node + "/" + CAFile, ca.certPEM, "the cluster's authority"},
			Credential{node + "/cert.pem", cert, "what server " + node + " shows"},
			Credential{node + "/key.pem", key, "proves that it is " + node},
		)
	}
	users, err := newUsers(ca.certPEM)
	return append(out, users...), err
}

// newUsers makes whoever may call at the servers.
func newUsers(ca []byte) ([]Credential, error) {
	var out []Credential
	env := "# The public keys of those who may call at the servers. Nothing here is secret.\n"
	add := func(name, path, words string) error {
		pair, err := nkeys.CreateUser()
		if err != nil {
			return fmt.Errorf("make nkey: %w", err)
		}
		seed, err := pair.Seed()
		if err != nil {
			return fmt.Errorf("make nkey: %w", err)
		}
		public, err := pair.PublicKey()
		if err != nil {
			return fmt.Errorf("make nkey: %w", err)
		}
		env += name + "=" + public + "\n"
		out = append(out, Credential{path, append(seed, '\n'), words})
		return nil
	}
	for i := 1; i <= Relays; i++ {
		secret, err := NewSecret(rand.Reader)
		if err != nil {
			return nil, err
		}
		folder := fmt.Sprintf("relay-%d", i)
		if err := add(fmt.Sprintf("PAIRWALK_RELAY_%d", i), folder+"/"+UserFile, "lets relay "+fmt.Sprint(i)+" into the cluster"); err != nil {
			return nil, err
		}
		out = append(out,
			Credential{folder + "/" + CAFile, ca, "the cluster's authority"},
			Credential{folder + "/" + SecretFile, []byte(secret.Text() + "\n"), "what relay " + fmt.Sprint(i) + " is on every site: lost, it has to be invited anew; two processes with one argue"},
		)
	}
	if err := add("PAIRWALK_KEEPER", "keeper/"+UserFile, "makes backups of the streams and puts them back; it can delete them too"); err != nil {
		return nil, err
	}
	if err := add("PAIRWALK_SYSTEM", "system/"+UserFile, "looks after the servers"); err != nil {
		return nil, err
	}
	return append(out, Credential{"nats.env", []byte(env), "tells the servers who may call"}), nil
}

// authority signs the servers' certificates.
type authority struct {
	cert            *x509.Certificate
	key             *ecdsa.PrivateKey
	certPEM, keyPEM []byte
}

func newAuthority(now time.Time) (authority, error) {
	var a authority
	var err error
	if a.key, err = ecdsa.GenerateKey(elliptic.P256(), rand.Reader); err != nil {
		return a, fmt.Errorf("make authority: %w", err)
	}
	template := &x509.Certificate{
		Subject: pkix.Name{CommonName: "pairwalk cluster"}, NotBefore: now.Add(-time.Hour), NotAfter: now.Add(authorityHolds),
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true, KeyUsage: x509.KeyUsageCertSign,
	}
	a.certPEM, a.keyPEM, err = certificate(template, template, a.key, a.key)
	if err != nil {
		return a, err
	}
	block, _ := pem.Decode(a.certPEM)
	a.cert, err = x509.ParseCertificate(block.Bytes)
	return a, err
}

// server makes a certificate for one server: under its own name, and for whoever
// calls from the same machine.
func (a authority) server(host string, now time.Time) (cert, key []byte, err error) {
	pair, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, fmt.Errorf("make key of %s: %w", host, err)
	}
	template := &x509.Certificate{
		Subject: pkix.Name{CommonName: host}, NotBefore: now.Add(-time.Hour), NotAfter: now.Add(ServerHolds),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth},
		DNSNames: []string{"localhost"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1), net.IPv6loopback},
	}
	if ip := net.ParseIP(host); ip != nil {
		template.IPAddresses = append(template.IPAddresses, ip)
	} else {
		template.DNSNames = append(template.DNSNames, host)
	}
	return certificate(template, a.cert, pair, a.key)
}

func certificate(template, parent *x509.Certificate, key, signer *ecdsa.PrivateKey) (certPEM, keyPEM []byte, err error) {
	if template.SerialNumber, err = rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120)); err != nil {
		return nil, nil, fmt.Errorf("make certificate: %w", err)
	}
	der, err := x509.CreateCertificate(rand.Reader, template, parent, &key.PublicKey, signer)
	if err != nil {
		return nil, nil, fmt.Errorf("make certificate: %w", err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, nil, fmt.Errorf("make certificate: %w", err)
	}
	certPEM = pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	keyPEM = pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret})
	return certPEM, keyPEM, nil
}

// CheckNode says whether a text may name a server, and the folder of its files.
func CheckNode(host string) error {
	bad := func(r rune) bool {
		return !strings.ContainsRune("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.-", r)
	}
	if host == "" || len(host) > 253 || strings.ContainsFunc(host, bad) || strings.Trim(host, ".-") != host || strings.Contains(host, "..") {
		return fmt.Errorf("%q is no host name", host)
	}
	switch host {
	case "authority", "keeper", "system", "relay-1", "relay-2":
		return fmt.Errorf("a server can't be called %s: that is a folder of the credentials", host)
	}
	return nil
}
