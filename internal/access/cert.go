package access

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"strings"
	"time"
)

// An own certificate holds for OwnYears and is made anew when less than
// RenewBefore is left: our own choice, so that people compare a fingerprint
// seldom.
const (
	OwnYears    = 3
	RenewBefore = 30 * 24 * time.Hour
)

// OwnCertificate makes a certificate that this machine signs itself, for names
// and addresses, as two PEM texts. No authority vouches for it: people compare
// its fingerprint, once for each browser, with the printed one.
func OwnCertificate(now time.Time, names []string) (cert, key []byte, err error) {
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, fmt.Errorf("access: key: %w", err)
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 120))
	if err != nil {
		return nil, nil, fmt.Errorf("access: serial: %w", err)
	}
	t := x509.Certificate{SerialNumber: serial, Subject: pkix.Name{CommonName: "linn"}, NotBefore: now.Add(-time.Hour), NotAfter: now.AddDate(OwnYears, 0, 0),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true}
	for _, n := range names {
		if ip := net.ParseIP(n); ip != nil {
			t.IPAddresses = append(t.IPAddresses, ip)
		} else {
			t.DNSNames = append(t.DNSNames, n)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, &t, &t, &private.PublicKey, private)
	if err != nil {
		return nil, nil, fmt.Errorf("access: certificate: %w", err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		return nil, nil, fmt.Errorf("access: key: %w", err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}), nil
}

// Fingerprint is the SHA-256 of a certificate as browsers show it: pairs of
// capital hexadecimal digits with colons.
func Fingerprint(der []byte) string {
	var pairs []string
	for _, b := range sha256.Sum256(der) {
		pairs = append(pairs, fmt.Sprintf("%02X", b))
	}
	return strings.Join(pairs, ":")
}
