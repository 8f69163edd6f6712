package access

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"linn/finding"
)

// policy lets a page load only what this program serves, run no inline script
// and be framed by nobody.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; " +
	"connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// The limits of a request, our own choice: no form of this program comes near
// a mebibyte; a phone on a poor connection sends one in half a minute.
const (
	DefaultBody   = 1 << 20
	HeaderTimeout = 10 * time.Second
	BodyTimeout   = 30 * time.Second
	IdleConn      = 2 * time.Minute
	MaxHeader     = 32 << 10
)

// Guard stands before the pages.
type Guard struct {
	Door *Door

	// Hosts are the names this server answers to, without port. The names of
	// the loopback interface always count. When empty and Door.TLS is set, the
	// certificate vouches for the name and every Host is taken.
	Hosts []string

	// Body gives the greatest body of a request in bytes; nil or 0: DefaultBody.
	Body func(*http.Request) int64

	// BodyTime bounds how long a body may take; 0: BodyTimeout.
	BodyTime time.Duration

	// Refuse writes the answer to a request that may not pass; nil writes the
	// refusal's code as plain text.
	Refuse func(w http.ResponseWriter, r *http.Request, status int, why finding.Refusal)

	// Broken is told of machinery errors; the browser sees only a 500.
	Broken func(r *http.Request, err error)
}

// Protect wraps the pages. Handlers read who is there with [Person].
func (g *Guard) Protect(pages http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		g.refuse(w, r, http.StatusForbidden, "cross-origin")
	}))
	return g.headers(g.host(g.body(cross.Handler(g.session(pages)))))
}

// headers sets what every answer carries. A handler of fixed files may
// replace Cache-Control; nothing of a patient is ever kept by a browser.
func (g *Guard) headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin") // no-referrer would also hide the Origin of our own forms
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=(), payment=(), usb=()")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

// host refuses a request sent to a name that is not this server's: a
// stranger's page whose name was made to point here.
func (g *Guard) host(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !g.knows(r.Host) {
			g.refuse(w, r, http.StatusMisdirectedRequest, "unknown-host")
			return
		}
		next.ServeHTTP(w, r)
	})
}

func (g *Guard) knows(hostport string) bool {
	if len(g.Hosts) == 0 && g.Door.TLS {
		return true
	}
	name := hostName(hostport)
	if loopbackName(name) {
		return true
	}
	for _, h := range g.Hosts {
		if hostName(h) == name {
			return true
		}
	}
	return false
}

// body bounds how much and how slowly a browser may send.
func (g *Guard) body(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		most := int64(0)
		if g.Body != nil {
			most = g.Body(r)
		}
		if most <= 0 {
			most = DefaultBody
		}
		if r.ContentLength > most {
			g.refuse(w, r, http.StatusRequestEntityTooLarge, "too-large")
			return
		}
		if r.Body != nil && r.ContentLength != 0 {
			r.Body = http.MaxBytesReader(w, r.Body, most)
			control := http.NewResponseController(w)
			// A writer without deadlines (a test's recorder) has no slow peer either.
			if control.SetReadDeadline(time.Now().Add(or(g.BodyTime, BodyTimeout))) == nil {
				r.Body = timedBody{r.Body, control}
			}
		}
		next.ServeHTTP(w, r)
	})
}

// timedBody lifts the deadline once the body has arrived whole, so that a
// long answer is not cut. A body never read to its end keeps its deadline.
type timedBody struct {
	io.ReadCloser
	control *http.ResponseController
}

func (b timedBody) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	if errors.Is(err, io.EOF) {
		if err := b.control.SetReadDeadline(time.Time{}); err != nil {
			return n, fmt.Errorf("access: lift deadline: %w", err)
		}
	}
	return n, err
}

type (
	personKey struct{}
	lockedKey struct{}
)

// session finds the person and hands them on with the request.
func (g *Guard) session(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		person, locked, err := g.Door.who(r)
		if err != nil {
			if g.Broken != nil {
				g.Broken(r, err)
			}
			g.refuse(w, r, http.StatusInternalServerError, "internal")
			return
		}
		if person != "" && locked {
			r = r.WithContext(context.WithValue(r.Context(), lockedKey{}, person))
		} else if person != "" {
			r = r.WithContext(context.WithValue(r.Context(), personKey{}, person))
		}
		next.ServeHTTP(w, r)
	})
}

// Person is the id of the signed-in person, false when nobody is.
func Person(ctx context.Context) (id string, ok bool) {
	id, ok = ctx.Value(personKey{}).(string)
	return id, ok
}

// LockedPerson is the id of the person whose session is covered: they are not
// signed in until they unlock it.
func LockedPerson(ctx context.Context) (id string, locked bool) {
	id, locked = ctx.Value(lockedKey{}).(string)
	return id, locked
}

func (g *Guard) refuse(w http.ResponseWriter, r *http.Request, status int, code string) {
	why := finding.Refusal{Code: code}
	if g.Refuse != nil {
		g.Refuse(w, r, status, why)
		return
	}
	http.Error(w, why.Code, status)
}

// Server returns a server for the guarded pages with the limits on slow and
// large headers; config is nil without TLS.
func Server(guarded http.Handler, config *tls.Config) *http.Server {
	return &http.Server{Handler: guarded, TLSConfig: config,
		ReadHeaderTimeout: HeaderTimeout, IdleTimeout: IdleConn, MaxHeaderBytes: MaxHeader}
}

// TLSConfig serves one certificate with TLS 1.2 or later.
func TLSConfig(cert tls.Certificate) *tls.Config {
	return &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}
}

// CheckListen refuses an address that others can reach when the server has no
// TLS, or is the demo, whose people need no password.
func CheckListen(address string, withTLS, demo bool) error {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return finding.Refusal{Code: "listen-address", Values: finding.Values{{Name: "got", Text: address}}}
	}
	if loopbackName(hostName(net.JoinHostPort(host, port))) {
		return nil
	}
	values := finding.Values{{Name: "got", Text: address}, {Name: "port", Text: port}}
	if demo {
		return finding.Refusal{Code: "listen-demo", Values: values}
	}
	if !withTLS {
		return finding.Refusal{Code: "listen-needs-tls", Values: values}
	}
	return nil
}

// hostName is the name of a Host header: lower case, without port, brackets
// and final dot.
func hostName(hostport string) string {
	name := hostport
	if h, _, err := net.SplitHostPort(hostport); err == nil {
		name = h
	}
	name = strings.TrimSuffix(strings.TrimPrefix(name, "["), "]")
	return strings.TrimSuffix(strings.ToLower(name), ".")
}

func loopbackName(name string) bool {
	if name == "localhost" {
		return true
	}
	a, err := netip.ParseAddr(name)
	return err == nil && a.Unmap().IsLoopback()
}
