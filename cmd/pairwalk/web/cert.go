package web

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"os"
	"slices"
	"strings"
	"time"
)

// certLasts is how long a certificate made here is good for: browsers refuse own
// certificates of more than 825 days.
const certLasts = 800 * 24 * time.Hour

// OwnCertificate makes a certificate for the page's names, in two PEM files, unless
// one that fits is there already, and returns its SHA-256 for a person to compare.
func OwnCertificate(certFile, keyFile string, hosts []string) (string, error) {
	if der := fitting(certFile, keyFile, hosts); der != nil {
		return printOf(der), nil
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return "", fmt.Errorf("make certificate: %w", err)
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return "", fmt.Errorf("make certificate: %w", err)
	}
	now := time.Now()
	form := &x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: "pairwalk page"},
		NotBefore: now.Add(-24 * time.Hour), NotAfter: now.Add(certLasts),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}
	form.DNSNames, form.IPAddresses = namesOf(hosts)
	der, err := x509.CreateCertificate(rand.Reader, form, form, &key.PublicKey, key)
	if err != nil {
		return "", fmt.Errorf("make certificate: %w", err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return "", fmt.Errorf("make certificate: %w", err)
	}
	if err := os.WriteFile(keyFile, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}), 0o600); err != nil {
		return "", fmt.Errorf("keep certificate: %w", err)
	}
	if err := os.WriteFile(certFile, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o600); err != nil {
		return "", fmt.Errorf("keep certificate: %w", err)
	}
	return printOf(der), nil
}

// fitting is the certificate that is there, if it is good for all the names and a
// month to come.
func fitting(certFile, keyFile string, hosts []string) []byte {
	pair, err := tls.LoadX509KeyPair(certFile, keyFile)
	if err != nil || time.Until(pair.Leaf.NotAfter) < 30*24*time.Hour {
		return nil
	}
	cert := pair.Leaf
	names, ips := namesOf(hosts)
	covered := !slices.ContainsFunc(names, func(n string) bool { return cert.VerifyHostname(n) != nil }) &&
		!slices.ContainsFunc(ips, func(ip net.IP) bool { return cert.VerifyHostname(ip.String()) != nil })
	if !covered {
		return nil
	}
	return cert.Raw
}

func namesOf(hosts []string) (names []string, ips []net.IP) {
	for _, h := range hosts {
		host, _, err := net.SplitHostPort(h)
		if err != nil {
			continue
		}
		if ip := net.ParseIP(host); ip != nil {
			ips = append(ips, ip)
		} else {
			names = append(names, host)
		}
	}
	return names, ips
}

// printOf writes a digest as browsers show it.
func printOf(der []byte) string {
	sum := sha256.Sum256(der)
	parts := make([]string, len(sum))
	for i, b := range sum {
		parts[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(parts, ":")
}
