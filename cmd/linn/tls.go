package main

import (
	"crypto/tls"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"time"

	"linn/internal/access"
)

// certificate loads the certificate of the settings, or the one this machine
// made itself, and says the fingerprint of the latter.
func (c *serveCommand) certificate(a *app, now time.Time) (cert tls.Certificate, err error) {
	if !c.TLSOwn {
		return tls.LoadX509KeyPair(c.TLSCert, c.TLSKey)
	}
	dir := filepath.Join(c.Data, "tls")
	certFile, keyFile := filepath.Join(dir, "own.pem"), filepath.Join(dir, "own.key")
	cert, err = tls.LoadX509KeyPair(certFile, keyFile)
	switch {
	case err == nil && now.Before(cert.Leaf.NotAfter.Add(-access.RenewBefore)):
		fmt.Fprintln(a.out, a.t("serve.fingerprint", value("print", access.Fingerprint(cert.Certificate[0]))))
		return cert, nil
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return cert, errors.New(a.t("serve.own-broken", value("file", certFile), value("why", err.Error())))
	}
	if err := makeOwn(dir, certFile, keyFile, now); err != nil {
		return cert, err
	}
	if cert, err = tls.LoadX509KeyPair(certFile, keyFile); err != nil {
		return cert, err
	}
	fmt.Fprintln(a.out, a.t("serve.fingerprint-new", value("print", access.Fingerprint(cert.Certificate[0]))))
	return cert, nil
}

// makeOwn writes a fresh certificate and its key, which only its owner reads.
func makeOwn(dir, certFile, keyFile string, now time.Time) error {
	cert, key, err := access.OwnCertificate(now, machineNames())
	if err != nil {
		return err
	}
	return errors.Join(os.MkdirAll(dir, 0o700), os.WriteFile(keyFile, key, 0o600), os.WriteFile(certFile, cert, 0o644))
}

// machineNames are the names and addresses by which others may call this
// machine.
func machineNames() []string {
	names := []string{"localhost"}
	if host, err := os.Hostname(); err == nil && host != "localhost" {
		names = append(names, host)
	}
	all, err := net.InterfaceAddrs()
	if err != nil {
		return append(names, "127.0.0.1", "::1")
	}
	for _, a := range all {
		if n, ok := a.(*net.IPNet); ok && !n.IP.IsLinkLocalUnicast() {
			names = append(names, n.IP.String())
		}
	}
	return names
}
