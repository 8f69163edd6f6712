package main

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"linn/internal/access"
)

// trusting is a browser that knows one certificate and no other.
func trusting(t *testing.T, pemFile string, most uint16) *http.Client {
	t.Helper()
	data, err := os.ReadFile(pemFile)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(data) {
		t.Fatal("no certificate")
	}
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &http.Client{Jar: jar, Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool, MaxVersion: most}},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
}

// A ward with a certificate of its own, from end to end: the printed
// fingerprint is the served one, the cookie is bound to TLS and host, the
// first start and a sign-in work, old TLS and plain HTTP do not.
func TestServeWithOwnCertificate(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "ward")
	r := serving(t, "--data", dir, "--tls-own")
	printed := regexp.MustCompile(`(?:[0-9A-F]{2}:){31}[0-9A-F]{2}`).FindString(r.out.String())
	certFile, keyFile := filepath.Join(dir, "tls", "own.pem"), filepath.Join(dir, "tls", "own.key")
	client := trusting(t, certFile, 0)
	if !strings.HasPrefix(r.address, "https://") {
		t.Fatalf("served at %s", r.address)
	}
	w, err := client.Get(r.address + "/ward")
	if err != nil {
		t.Fatal(err)
	}
	w.Body.Close()
	if got := access.Fingerprint(w.TLS.PeerCertificates[0].Raw); printed == "" || got != printed {
		t.Errorf("served %s, printed %s", got, printed)
	}
	if w.TLS.Version < tls.VersionTLS12 || w.StatusCode != http.StatusSeeOther {
		t.Errorf("version %x, status %d", w.TLS.Version, w.StatusCode)
	}
	if info, err := os.Stat(keyFile); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the key lies open: %v %v", info, err)
	}
	w, err = client.PostForm(r.address+"/start", url.Values{"name": {"Fen Marsh"}, "password": {"three words here"}})
	if err != nil {
		t.Fatal(err)
	}
	w.Body.Close()
	cookie := w.Header.Get("Set-Cookie")
	for _, want := range []string{"__Host-linn=", "; Path=/", "; HttpOnly", "; Secure", "; SameSite=Strict"} {
		if !strings.Contains(cookie, want) {
			t.Errorf("the cookie lacks %q: %s", want, regexp.MustCompile(`=[^;]*`).ReplaceAllString(cookie, "=…"))
		}
	}
	if strings.Contains(cookie, "Domain") {
		t.Error("the cookie names a domain")
	}
	if w, err = client.Get(r.address + "/ward"); err != nil || w.StatusCode != 200 {
		t.Fatalf("signed in: %v %v", w, err)
	}
	body, _ := io.ReadAll(w.Body)
	w.Body.Close()
	if !strings.Contains(string(body), "Fen Marsh") {
		t.Error("the ward does not say who is signed in")
	}
	if _, err := trusting(t, certFile, tls.VersionTLS11).Get(r.address + "/ward"); err == nil {
		t.Error("TLS 1.1 is spoken")
	}
	plain, err := http.Get("http://" + strings.TrimPrefix(r.address, "https://") + "/ward")
	if err != nil || plain.StatusCode != http.StatusBadRequest {
		t.Errorf("plain HTTP: %v %v", plain, err)
	}
	if err == nil {
		plain.Body.Close()
	}
	r.end()
	again := serving(t, "--data", dir, "--tls-own")
	if !strings.Contains(again.out.String(), printed) || strings.Contains(again.out.String(), "new certificate") {
		t.Errorf("the second start says %q", again.out.String())
	}
	again.end()
	if err := os.WriteFile(certFile, []byte("-----BEGIN"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, said := command(t, "serve", "--data", dir, "--tls-own", "--listen", "127.0.0.1:0"); code != exitMachine || !strings.Contains(said, "own.pem cannot be used") {
		t.Errorf("a broken certificate: %d %q", code, said)
	}
}

// A hospital's own certificate, given by files; an expired own one is renewed.
func TestServeWithGivenCertificate(t *testing.T) {
	dir := t.TempDir()
	write := func(folder, certName, keyName string, at time.Time) {
		cert, key, err := access.OwnCertificate(at, []string{"localhost", "127.0.0.1"})
		if err != nil {
			t.Fatal(err)
		}
		for name, data := range map[string][]byte{certName: cert, keyName: key} {
			if err := os.WriteFile(filepath.Join(folder, name), data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	write(dir, "ward.pem", "ward.key", time.Now())
	r := serving(t, "--data", filepath.Join(dir, "ward"), "--tls-cert", filepath.Join(dir, "ward.pem"), "--tls-key", filepath.Join(dir, "ward.key"))
	w, err := trusting(t, filepath.Join(dir, "ward.pem"), 0).Get(r.address + "/ward")
	if err != nil || w.StatusCode != http.StatusSeeOther {
		t.Errorf("%v %v", w, err)
	}
	if err == nil {
		w.Body.Close()
	}
	r.end()
	if code, _, said := command(t, "serve", "--data", dir, "--tls-own", "--tls-cert", "x", "--tls-key", "y"); code != exitUsage || !strings.Contains(said, "either a certificate") {
		t.Errorf("both: %d %q", code, said)
	}
	old := filepath.Join(dir, "old")
	if err := os.MkdirAll(filepath.Join(old, "tls"), 0o700); err != nil {
		t.Fatal(err)
	}
	write(filepath.Join(old, "tls"), "own.pem", "own.key", time.Now().AddDate(-access.OwnYears, 0, 7))
	renewed := serving(t, "--data", old, "--tls-own")
	if !strings.Contains(renewed.out.String(), "A new certificate was made") {
		t.Errorf("a certificate at its end: %q", renewed.out.String())
	}
	renewed.end()
}

// An own certificate names the machine and is good for serving alone.
func TestOwnCertificateIsForServing(t *testing.T) {
	cert, _, err := access.OwnCertificate(time.Now(), machineNames())
	if err != nil {
		t.Fatal(err)
	}
	block, _ := pem.Decode(cert)
	c, err := x509.ParseCertificate(block.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	if c.IsCA || len(c.ExtKeyUsage) != 1 || c.ExtKeyUsage[0] != x509.ExtKeyUsageServerAuth || c.VerifyHostname("localhost") != nil || c.VerifyHostname("evil.example") == nil {
		t.Errorf("%+v", c)
	}
	loopback := false
	for _, ip := range c.IPAddresses {
		loopback = loopback || ip.Equal(net.IPv4(127, 0, 0, 1))
	}
	if !loopback {
		t.Errorf("no loopback address in %v", c.IPAddresses)
	}
}
