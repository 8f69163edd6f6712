package access

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"linn/finding"
)

type people map[string]Account

func (p people) AccountByID(_ context.Context, id string) (Account, bool, error) {
	a, ok := p[id]
	return a, ok, nil
}

func (p people) AccountByName(_ context.Context, name string) (Account, bool, error) {
	for _, a := range p {
		if a.Name == name {
			return a, true, nil
		}
	}
	return Account{}, false, nil
}

const password = "correct horse water"

func newDoor(t *testing.T) (*Door, people) {
	t.Helper()
	h, err := Hash(password)
	if err != nil {
		t.Fatal(err)
	}
	p := people{"p1": {ID: "p1", Name: "meera", Hash: h}, "p2": {ID: "p2", Name: "nohash"}}
	s, _, clock := newSessions()
	return &Door{Accounts: p, Sessions: s, Limiter: &Limiter{Clock: clock.Now}}, p
}

// pages echoes who is there, signs in at /sign-in and reads the body elsewhere.
func pages(d *Door) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		if _, err := io.ReadAll(r.Body); err != nil {
			var large *http.MaxBytesError
			if errors.As(err, &large) {
				http.Error(w, "large", http.StatusRequestEntityTooLarge)
				return
			}
			http.Error(w, "slow", http.StatusRequestTimeout)
			return
		}
		who, _ := Person(r.Context())
		fmt.Fprintf(w, "who=%s", who)
	})
	mux.HandleFunc("POST /sign-in", func(w http.ResponseWriter, r *http.Request) {
		if err := d.SignIn(w, r, r.FormValue("name"), r.FormValue("password")); err != nil {
			http.Error(w, err.Error(), http.StatusForbidden)
		}
	})
	return mux
}

func ask(h http.Handler, method, url string, change func(*http.Request)) *http.Response {
	r := httptest.NewRequest(method, url, nil)
	r.RemoteAddr = "127.0.0.1:40000"
	if change != nil {
		change(r)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

func body(t *testing.T, r *http.Response) string {
	t.Helper()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func signIn(t *testing.T, h http.Handler, name, pass string, change func(*http.Request)) *http.Response {
	t.Helper()
	r := httptest.NewRequest("POST", "http://127.0.0.1:7373/sign-in", strings.NewReader("name="+name+"&password="+pass))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.RemoteAddr = "127.0.0.1:40000"
	if change != nil {
		change(r)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

func TestSignInCookie(t *testing.T) {
	for _, c := range []struct {
		name   string
		tls    bool
		cookie string
	}{{"loopback", false, "linn"}, {"TLS", true, "__Host-linn"}} {
		t.Run(c.name, func(t *testing.T) {
			d, _ := newDoor(t)
			d.TLS = c.tls
			h := (&Guard{Door: d}).Protect(pages(d))
			got := signIn(t, h, "meera", password, nil).Cookies()
			if len(got) != 1 {
				t.Fatalf("%d cookies", len(got))
			}
			k := got[0]
			if k.Name != c.cookie || !k.HttpOnly || k.SameSite != http.SameSiteStrictMode || k.Secure != c.tls ||
				k.Path != "/" || k.Domain != "" || k.MaxAge != 0 {
				t.Errorf("cookie %+v", k)
			}
			who := body(t, ask(h, "GET", "http://127.0.0.1:7373/", func(r *http.Request) { r.AddCookie(k) }))
			if who != "who=p1" {
				t.Errorf("with the cookie: %s", who)
			}
		})
	}
}

func TestSignInRefusesAlike(t *testing.T) {
	d, _ := newDoor(t)
	h := (&Guard{Door: d}).Protect(pages(d))
	wrong := body(t, signIn(t, h, "meera", "wrong password", nil))
	for _, c := range [][2]string{{"nobody", password}, {"nohash", password}, {"nohash", ""}, {"", ""}} {
		got := signIn(t, h, c[0], c[1], nil)
		if text := body(t, got); text != wrong || len(got.Cookies()) != 0 {
			t.Errorf("%q/%q: %q, want the same answer as for a wrong password: %q", c[0], c[1], text, wrong)
		}
	}
}

func TestSignInWaitIsTold(t *testing.T) {
	d, _ := newDoor(t)
	h := (&Guard{Door: d}).Protect(pages(d))
	for range freePair {
		signIn(t, h, "meera", "wrong password", nil)
	}
	got := signIn(t, h, "meera", password, nil)
	if got.Header.Get("Retry-After") != "15" || !strings.Contains(body(t, got), "sign-in-wait") || len(got.Cookies()) != 0 {
		t.Errorf("right password while waiting: %v", got.Header)
	}
}

func TestFixationThroughTheBrowser(t *testing.T) {
	d, _ := newDoor(t)
	h := (&Guard{Door: d}).Protect(pages(d))
	planted := &http.Cookie{Name: d.CookieName(), Value: "planted"}
	got := signIn(t, h, "meera", password, func(r *http.Request) { r.AddCookie(planted) }).Cookies()
	if len(got) != 1 || got[0].Value == "planted" {
		t.Fatalf("cookies %v", got)
	}
	who := body(t, ask(h, "GET", "http://localhost/", func(r *http.Request) { r.AddCookie(planted) }))
	if who != "who=" {
		t.Errorf("the planted token is %s", who)
	}
	// A second cookie of the name, tossed in from another port or path of the host.
	who = body(t, ask(h, "GET", "http://localhost/", func(r *http.Request) { r.AddCookie(planted); r.AddCookie(got[0]) }))
	if who != "who=" {
		t.Errorf("with two cookies of the name: %s", who)
	}
}

func TestDeactivatedPersonIsOutAtOnce(t *testing.T) {
	d, p := newDoor(t)
	h := (&Guard{Door: d}).Protect(pages(d))
	k := signIn(t, h, "meera", password, nil).Cookies()[0]
	delete(p, "p1")
	if who := body(t, ask(h, "GET", "http://localhost/", func(r *http.Request) { r.AddCookie(k) })); who != "who=" {
		t.Errorf("a closed account is still %s", who)
	}
}

func TestSignOut(t *testing.T) {
	d, _ := newDoor(t)
	h := (&Guard{Door: d}).Protect(pages(d))
	k := signIn(t, h, "meera", password, nil).Cookies()[0]
	r := httptest.NewRequest("POST", "http://localhost/sign-out", nil)
	r.AddCookie(k)
	w := httptest.NewRecorder()
	if err := d.SignOut(w, r); err != nil {
		t.Fatal(err)
	}
	if out := w.Result().Cookies(); len(out) != 1 || out[0].MaxAge >= 0 || out[0].Value != "" {
		t.Errorf("cookie not taken away: %v", out)
	}
	if who := body(t, ask(h, "GET", "http://localhost/", func(r *http.Request) { r.AddCookie(k) })); who != "who=" {
		t.Errorf("the old token is still %s", who)
	}
}

func TestCrossSitePost(t *testing.T) {
	d, _ := newDoor(t)
	h := (&Guard{Door: d}).Protect(pages(d))
	k := signIn(t, h, "meera", password, nil).Cookies()[0]
	for _, c := range []struct {
		name   string
		method string
		header [2]string
		status int
	}{
		{"own form", "POST", [2]string{"Sec-Fetch-Site", "same-origin"}, 200},
		{"own form of an older browser", "POST", [2]string{"Origin", "http://localhost:7373"}, 200},
		{"a stranger's form", "POST", [2]string{"Sec-Fetch-Site", "cross-site"}, 403},
		{"another port of this host", "POST", [2]string{"Sec-Fetch-Site", "same-site"}, 403},
		{"a stranger's form in an older browser", "POST", [2]string{"Origin", "http://evil.example"}, 403},
		{"a sandboxed frame", "POST", [2]string{"Origin", "null"}, 403},
		{"a stranger's link", "GET", [2]string{"Sec-Fetch-Site", "cross-site"}, 200},
		{"a stranger's DELETE", "DELETE", [2]string{"Sec-Fetch-Site", "cross-site"}, 403},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := ask(h, c.method, "http://localhost:7373/case", func(r *http.Request) {
				r.AddCookie(k)
				r.Header.Set(c.header[0], c.header[1])
			})
			if got.StatusCode != c.status {
				t.Errorf("status %d, want %d", got.StatusCode, c.status)
			}
		})
	}
}

func TestHostHeader(t *testing.T) {
	for _, c := range []struct {
		host  string
		tls   bool
		hosts []string
		ok    bool
	}{
		{"127.0.0.1:7373", false, nil, true},
		{"localhost:7373", false, nil, true},
		{"LocalHost.", false, nil, true},
		{"[::1]:7373", false, nil, true},
		{"evil.example:7373", false, nil, false},
		{"127.0.0.1.evil.example", false, nil, false},
		{"localhost.evil.example:7373", false, nil, false},
		{"192.168.1.20", false, nil, false},
		{"0.0.0.0:7373", false, nil, false},
		{"", false, nil, false},
		{"ward.hospital.example", true, nil, true},
		{"ward.hospital.example:443", true, []string{"ward.hospital.example"}, true},
		{"evil.example", true, []string{"ward.hospital.example"}, false},
	} {
		t.Run(c.host, func(t *testing.T) {
			d, _ := newDoor(t)
			d.TLS = c.tls
			h := (&Guard{Door: d, Hosts: c.hosts}).Protect(pages(d))
			got := ask(h, "GET", "http://localhost/", func(r *http.Request) { r.Host = c.host })
			if ok := got.StatusCode == 200; ok != c.ok {
				t.Errorf("status %d", got.StatusCode)
			}
		})
	}
}

func TestHeadersOnEveryAnswer(t *testing.T) {
	d, _ := newDoor(t)
	h := (&Guard{Door: d}).Protect(pages(d))
	for _, host := range []string{"localhost", "evil.example"} { // a refusal carries them too
		got := ask(h, "GET", "http://localhost/", func(r *http.Request) { r.Host = host }).Header
		for name, want := range map[string]string{
			"Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'",
			"X-Content-Type-Options":  "nosniff", "Cache-Control": "no-store", "Referrer-Policy": "same-origin",
			"X-Frame-Options": "DENY", "Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin",
		} {
			if got.Get(name) != want {
				t.Errorf("%s: %q", name, got.Get(name))
			}
		}
	}
}

func serve(t *testing.T, g *Guard) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := Server(g.Protect(pages(g.Door)), nil)
	done := make(chan error, 1)
	go func() { done <- s.Serve(l) }()
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
		if err := <-done; !errors.Is(err, http.ErrServerClosed) {
			t.Error(err)
		}
	})
	return l.Addr().String()
}

func TestOversizedBody(t *testing.T) {
	d, _ := newDoor(t)
	address := serve(t, &Guard{Door: d, Body: func(r *http.Request) int64 {
		if r.URL.Path == "/import" {
			return 4 << 20
		}
		return 0
	}})
	for _, c := range []struct {
		name    string
		path    string
		size    int
		chunked bool
		status  int
	}{
		{"within", "/", DefaultBody, false, 200},
		{"said to be larger", "/", DefaultBody + 1, false, 413},
		{"larger without saying so", "/", DefaultBody + 1, true, 413},
		{"a page with its own limit", "/import", 2 << 20, true, 200},
		{"beyond its own limit", "/import", 5 << 20, true, 413},
	} {
		t.Run(c.name, func(t *testing.T) {
			var r io.Reader = strings.NewReader(strings.Repeat("x", c.size))
			if c.chunked {
				r = io.MultiReader(r)
			}
			got, err := http.Post("http://"+address+c.path, "text/plain", r)
			if err != nil {
				t.Fatal(err)
			}
			defer got.Body.Close()
			if got.StatusCode != c.status {
				t.Errorf("status %d, want %d", got.StatusCode, c.status)
			}
		})
	}
}

// The attack: a promise of a body that never comes, holding the handler.
func TestSlowBodyIsCut(t *testing.T) {
	d, _ := newDoor(t)
	address := serve(t, &Guard{Door: d, BodyTime: 50 * time.Millisecond})
	conn, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	fmt.Fprintf(conn, "POST / HTTP/1.1\r\nHost: %s\r\nContent-Length: 1000\r\n\r\nx", address)
	if err := conn.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	got, err := http.ReadResponse(bufio.NewReader(conn), nil)
	if err != nil {
		t.Fatalf("the handler was held: %v", err)
	}
	defer got.Body.Close()
	if got.StatusCode != http.StatusRequestTimeout {
		t.Errorf("status %d", got.StatusCode)
	}
}

func TestLongAnswerAfterAWholeBodyIsNotCut(t *testing.T) {
	d, _ := newDoor(t)
	g := &Guard{Door: d, BodyTime: 20 * time.Millisecond}
	server := httptest.NewServer(g.Protect(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_, err := io.ReadAll(r.Body)
		time.Sleep(100 * time.Millisecond) // longer than a body may take
		fmt.Fprint(w, err, r.Context().Err())
	})))
	defer server.Close()
	got, err := http.Post(server.URL, "text/plain", strings.NewReader("x"))
	if err != nil {
		t.Fatal(err)
	}
	defer got.Body.Close()
	if text := body(t, got); text != "<nil> <nil>" && text != "<nil><nil>" {
		t.Errorf("answer %q", text)
	}
}

func TestServerLimits(t *testing.T) {
	s := Server(http.NotFoundHandler(), nil)
	if s.ReadHeaderTimeout == 0 || s.MaxHeaderBytes == 0 || s.IdleTimeout == 0 {
		t.Error("a server without limits on slow headers")
	}
}

func TestDemoPersonOnlyFromThisMachine(t *testing.T) {
	d, _ := newDoor(t)
	d.Demo, d.DemoPerson = true, "p1"
	h := (&Guard{Door: d}).Protect(pages(d))
	for _, c := range []struct {
		name   string
		change func(*http.Request)
		who    string
	}{
		{"this machine", nil, "who=p1"},
		{"IPv6", func(r *http.Request) { r.RemoteAddr = "[::1]:5000" }, "who=p1"},
		{"another machine", func(r *http.Request) { r.RemoteAddr = "192.168.1.9:5000" }, "who="},
		{"forwarded", func(r *http.Request) { r.Header.Set("X-Forwarded-For", "127.0.0.1") }, "who="},
		{"forwarded by another header", func(r *http.Request) { r.Header.Set("X-Real-Ip", "127.0.0.1") }, "who="},
		{"forwarded, said by the way", func(r *http.Request) { r.Header.Set("Via", "1.1 proxy") }, "who="},
		{"no address", func(r *http.Request) { r.RemoteAddr = "@" }, "who="},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := body(t, ask(h, "GET", "http://localhost/", c.change)); got != c.who {
				t.Errorf("%s, want %s", got, c.who)
			}
		})
	}
	d.Demo = false
	if got := body(t, ask(h, "GET", "http://localhost/", nil)); got != "who=" {
		t.Errorf("outside the demo: %s", got)
	}
}

func TestSwitch(t *testing.T) {
	d, _ := newDoor(t)
	r := httptest.NewRequest("POST", "http://localhost/switch", nil)
	r.RemoteAddr = "127.0.0.1:5000"
	code := func(person string) string {
		var refused finding.Refusal
		if err := d.Switch(httptest.NewRecorder(), r, person); errors.As(err, &refused) {
			return refused.Code
		}
		return ""
	}
	if got := code("p2"); got != "switch-only-in-demo" {
		t.Errorf("outside the demo: %q", got)
	}
	d.Demo = true
	if got := code("stranger"); got != "unknown-person" {
		t.Errorf("unknown: %q", got)
	}
	if got := code("p2"); got != "" {
		t.Errorf("refused: %q", got)
	}
	r.RemoteAddr = "10.0.0.9:5000"
	if got := code("p2"); got != "switch-only-in-demo" {
		t.Errorf("from another machine: %q", got)
	}
}

func TestVouch(t *testing.T) {
	d, _ := newDoor(t)
	r := httptest.NewRequest("POST", "http://localhost/sign", nil)
	r.RemoteAddr = "127.0.0.1:5000"
	for _, c := range []struct {
		name, password string
		demo           bool
		person         string
	}{
		{"meera", password, false, "p1"},
		{"meera", "wrong password", false, ""},
		{"meera", "", false, ""},
		{"nobody", password, false, ""},
		{"nohash", "", true, "p2"},
		{"nobody", "", true, ""},
	} {
		d.Demo = c.demo
		w := httptest.NewRecorder()
		got, err := d.Vouch(w, r, c.name, c.password)
		if got != c.person || (err == nil) != (c.person != "") {
			t.Errorf("%q demo %v: %q, %v", c.name, c.demo, got, err)
		}
		if len(w.Result().Cookies()) != 0 {
			t.Error("vouching opened a session")
		}
	}
	d.Demo = false
	for range freePair {
		if _, err := d.Vouch(httptest.NewRecorder(), r, "meera", "guess"); err == nil {
			t.Fatal("took a guess")
		}
	}
	if _, err := d.Vouch(httptest.NewRecorder(), r, "meera", password); err == nil {
		t.Error("vouching is a way around the limits on guessing")
	}
}

func TestCheckListen(t *testing.T) {
	for _, c := range []struct {
		address   string
		tls, demo bool
		code      string
	}{
		{"127.0.0.1:7373", false, false, ""},
		{"localhost:7373", false, true, ""},
		{"[::1]:7373", false, true, ""},
		{"127.8.8.8:1", false, false, ""},
		{":7373", false, false, "listen-needs-tls"},
		{"0.0.0.0:7373", false, false, "listen-needs-tls"},
		{"[::]:7373", false, false, "listen-needs-tls"},
		{"192.168.1.20:7373", false, false, "listen-needs-tls"},
		{"ward.example:7373", false, false, "listen-needs-tls"},
		{"192.168.1.20:7373", true, false, ""},
		{"192.168.1.20:7373", true, true, "listen-demo"},
		{"7373", false, false, "listen-address"},
		{"", false, false, "listen-address"},
	} {
		t.Run(c.address, func(t *testing.T) {
			got := ""
			var refused finding.Refusal
			if err := CheckListen(c.address, c.tls, c.demo); errors.As(err, &refused) {
				got = refused.Code
			}
			if got != c.code {
				t.Errorf("%q, want %q", got, c.code)
			}
		})
	}
}

func TestAddressOf(t *testing.T) {
	for in, want := range map[string]string{
		"10.0.0.9:5000":               "10.0.0.9",
		"[::ffff:10.0.0.9]:5000":      "10.0.0.9",
		"[2001:db8:1:2:3:4:5:6]:5000": "2001:db8:1:2::/64",
		"[fe80::1%eth0]:5000":         "fe80::/64",
		"[::1]:5000":                  "::1",
		"@":                           "@",
	} {
		if got := addressOf(&http.Request{RemoteAddr: in}); got != want {
			t.Errorf("%s: %q, want %q", in, got, want)
		}
	}
}
