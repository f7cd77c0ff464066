package serve

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
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// certificateLasts stays under the 398 days that phones accept.
const certificateLasts = 390 * 24 * time.Hour

// Certificate is the cellar's own TLS certificate for a door that other
// machines may knock at. It is made once, kept in folder with the key readable
// by its owner only, and made anew when it has less than 30 days left or lacks
// one of the names. Fingerprint is what a phone shows on first meeting.
func Certificate(folder string, names []string, now time.Time) (cert tls.Certificate, fingerprint string, err error) {
	path := filepath.Join(folder, "door.pem")
	cert, err = tls.LoadX509KeyPair(path, path)
	if err == nil && stillGood(cert.Leaf, names, now) {
		return cert, fingerprintOf(cert.Leaf.Raw), nil
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return cert, "", fmt.Errorf("certificate %s cannot be read (%w); move it away to have a new one made", path, err)
	}
	if err := makeCertificate(path, names, now); err != nil {
		return cert, "", err
	}
	if cert, err = tls.LoadX509KeyPair(path, path); err != nil {
		return cert, "", err
	}
	return cert, fingerprintOf(cert.Leaf.Raw), nil
}

func stillGood(leaf *x509.Certificate, names []string, now time.Time) bool {
	if now.Before(leaf.NotBefore) || now.Add(30*24*time.Hour).After(leaf.NotAfter) {
		return false
	}
	for _, n := range names {
		if leaf.VerifyHostname(n) != nil {
			return false
		}
	}
	return true
}

func makeCertificate(path string, names []string, now time.Time) error {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return err
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return err
	}
	t := &x509.Certificate{
		SerialNumber: serial,
		Subject:      pkix.Name{CommonName: "Élevage, this cellar"},
		NotBefore:    now.Add(-time.Hour), NotAfter: now.Add(certificateLasts),
		KeyUsage:    x509.KeyUsageDigitalSignature,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true,
	}
	for _, n := range names {
		if ip := net.ParseIP(n); ip != nil {
			t.IPAddresses = append(t.IPAddresses, ip)
		} else {
			t.DNSNames = append(t.DNSNames, n)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, t, t, &key.PublicKey, key)
	if err != nil {
		return err
	}
	raw, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	both := append(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}),
		pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: raw})...)
	return os.WriteFile(path, both, 0o600)
}

func fingerprintOf(der []byte) string {
	sum := sha256.Sum256(der)
	parts := make([]string, len(sum))
	for i, b := range sum {
		parts[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(parts, ":")
}
