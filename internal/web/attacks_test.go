package web

import (
	"bytes"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"linn/internal/access"
	"linn/internal/care/casebook"
	"linn/internal/locale"
	"linn/internal/pathway"
)

// formField finds the names of the fields that a page's forms send.
var (
	formAction = regexp.MustCompile(`(?s)<form[^>]*method="post"[^>]*action="([^"]+)"[^>]*>(.*?)</form>`)
	fieldNames = regexp.MustCompile(`<(input|select|textarea)[^>]*\bname="([^"]+)"`)
)

// fields lists, by the pattern of its route, every field that some page of the
// ward offers in a form.
func (h *house) fields() map[string][]string {
	h.t.Helper()
	found := map[string][]string{}
	id := h.cases["Brennor Tidewell"]
	for _, name := range inRole {
		v := h.as(name)
		for _, path := range []string{"/ward", "/case/new", "/case/" + id, "/case/" + h.cases["Celindra Kelpstone"], "/case/" + id + "/person", "/case/" + id + "/correct", "/case/" + id + "/glass",
			"/case/" + id + "/move?find=H-0412", "/desk/merge?identifier=H-0412&into=H-0418", "/desk/erase?identifier=H-0412", "/shelf", "/desk", "/desk/protocol", "/desk/glass", "/me",
			"/list/2026-03-02", "/sign-in"} {
			for _, form := range formAction.FindAllStringSubmatch(v.get(path).Body.String(), -1) {
				action := form[1]
				if action == "/be" || action == "/theme" || strings.HasSuffix(action, "/sign-out") || strings.HasSuffix(action, "/everywhere") {
					continue
				}
				for _, f := range fieldNames.FindAllStringSubmatch(form[2], -1) {
					if !slices.Contains(found[action], f[2]) {
						found[action] = append(found[action], f[2])
					}
				}
			}
		}
	}
	return found
}

// Text that a database or a shell would run, in every field of every form: no
// answer is a fault of the machinery, nothing is gone, the record verifies.
func TestHostileTextInEveryField(t *testing.T) {
	h := newHouse(t, true)
	forms := h.fields()
	if len(forms) < 12 {
		t.Fatalf("only %d forms were found", len(forms))
	}
	count, most := 0, 2
	if os.Getenv("LINN_FULL") != "" {
		most = 99
	}
	texts := []string{evil + "'; DROP TABLE revision; --", "%00\r\nSet-Cookie: a=b\" OR \"1\"=\"1", `x'); DROP TABLE revision; --`, "\" OR \"1\"=\"1", evil, "../../../../etc/passwd", "{{.Pathway}}", "%00\r\nSet-Cookie: a=b"}
	for _, hostile := range texts[:min(most, len(texts))] {
		for action, names := range forms {
			for role, name := range inRole {
				if role != Surgeon && role != Administrator {
					continue
				}
				v := h.as(name)
				form := url.Values{}
				for _, n := range names {
					form.Set(n, hostile)
				}
				if slices.Contains(names, "revision") {
					form.Set("revision", "1")
				}
				w := v.send("POST", action, form.Encode())
				count++
				if w.Code >= 500 {
					t.Errorf("%s with %q: status %d", action, hostile, w.Code)
				}
				if body := w.Body.String(); strings.Contains(body, "<script>alert") || strings.Contains(body, "<img src=x") {
					t.Errorf("%s shows typed text as page", action)
				}
				if w.Header().Get("Set-Cookie") != "" && strings.Contains(w.Header().Get("Set-Cookie"), "a=b") || strings.Contains(w.Header().Get("Location"), "\n") {
					t.Errorf("%s lets a header be written", action)
				}
			}
		}
	}
	for _, name := range inRole {
		v := h.as(name)
		for _, path := range []string{"/ward", "/shelf", "/desk", "/desk/protocol", "/desk/log", "/desk/glass", "/case/" + h.cases["Brennor Tidewell"], "/case/" + h.cases["Brennor Tidewell"] + "/history?older=1&newer=2"} {
			if body := v.get(path).Body.String(); strings.Contains(body, "<script>alert") || strings.Contains(body, "<img src=x") {
				t.Errorf("%s shows stored text as page", path)
			}
		}
	}
	h.says("the ward stands", h.as("Corvan Eskerling").get("/ward"), 200, "Brennor Tidewell")
	h.says("the record verifies", h.as("Corvan Eskerling").post("/desk/verify"), 200, "Every link holds")
	t.Logf("%d hostile forms sent to %d addresses", count, len(forms))
}

// Hostile text in every part of an address and every query: nothing is found,
// nothing breaks, nothing from the disk comes back.
func TestHostileAddresses(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Corvan Eskerling")
	for _, r := range allRoutes(t) {
		method, pattern, _ := strings.Cut(r.pattern, " ")
		if !strings.Contains(pattern, "{") || method != "GET" {
			continue
		}
		for _, hostile := range []string{"..%2f..%2f..%2fetc%2fpasswd", "%2e%2e", "x'%20OR%20'1'='1", "%00", "%3Cscript%3Ealert(1)%3C%2Fscript%3E", strings.Repeat("a", 4000)} {
			path := regexp.MustCompile(`\{[a-z]+(\.\.\.)?\}`).ReplaceAllString(strings.Replace(pattern, "{$}", "", 1), hostile)
			w := v.send(method, path, "")
			if w.Code >= 500 || w.Code == 200 && !strings.HasSuffix(pattern, "/glass") && pattern != "/" {
				t.Errorf("%s: status %d", path, w.Code)
			}
			if body := w.Body.String(); strings.Contains(body, "root:") || strings.Contains(body, "<script>alert") {
				t.Errorf("%s gives away or shows what was asked", path)
			}
		}
	}
	for _, path := range []string{"/ward?q=", "/desk/log?person=", "/desk/merge?identifier=", "/desk/erase?identifier=", "/case/" + h.cases["Brennor Tidewell"] + "?lens=",
		"/case/" + h.cases["Brennor Tidewell"] + "/move?find=", "/case/" + h.cases["Brennor Tidewell"] + "/history?older=", "/me?done="} {
		for _, hostile := range []string{evil, "'; DROP TABLE revision; --", "\x00\r\nX: y"} {
			w := v.get(path + url.QueryEscape(hostile))
			if body := w.Body.String(); w.Code >= 500 || strings.Contains(body, "<script>alert") || strings.Contains(body, "<img src=x") || w.Header().Get("X") != "" {
				t.Errorf("%s%q: status %d", path, hostile, w.Code)
			}
		}
	}
}

// A redirect stays in this program, wherever an address comes in.
func TestOpenRedirect(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Corvan Eskerling")
	for _, target := range []string{"https://evil.example/", "//evil.example", "/\\evil.example", "\\\\evil.example", "javascript:alert(1)", "/\t/evil.example", "https:evil.example", "", "evil.example", "/%09/evil.example/\r\nX: y"} {
		for _, form := range [][]string{{"/theme", "theme", "dim", "back", target}, {"/be", "person", h.who["Corvan Eskerling"], "back", target}, {"/lock", "back", target}, {"/unlock", "secret", "x", "back", target}} {
			w := v.post(form[0], form[1:]...)
			to, err := url.Parse(w.Header().Get("Location"))
			if err != nil || to.Host != "" || to.Scheme != "" || strings.HasPrefix(w.Header().Get("Location"), "//") || strings.ContainsAny(w.Header().Get("Location"), "\\\t\r\n") {
				t.Errorf("%s back to %q leads to %q", form[0], target, w.Header().Get("Location"))
			}
		}
	}
}

// What a stranger writes cannot forge or split a line of the log, and neither
// a name, a password, a token nor a link is in it.
func TestLogInjection(t *testing.T) {
	var out bytes.Buffer
	h := newHouse(t, false)
	clock := func() casebook.Clock { return h.path.Clock }()
	door := &access.Door{Accounts: Accounts{h.path}, Limiter: &access.Limiter{Clock: access.Clock(clock)},
		Sessions: &access.Sessions{Store: access.NewMemorySessions(), Clock: access.Clock(clock)}}
	var err error
	h.pages, err = Workbench{Pathway: h.path, Door: door, Language: locale.English, Log: slog.New(slog.NewJSONHandler(&out, nil))}.Handler()
	h.must(err)
	_, err = h.path.FirstPerson(t.Context(), pathway.NewPerson{Name: "Fen Marsh", Password: "three words here"})
	h.must(err)
	v := h.visitor()
	forged := "x\n{\"level\":\"INFO\",\"msg\":\"signed in\"}\r\n"
	v.headers["User-Agent"] = "agent-of-a-stranger"
	v.post("/sign-in", "name", forged, "password", "secret-word-typed")
	v.post("/sign-in", "name", "Fen Marsh", "password", "wrong-word-typed")
	v.get("/case/" + url.PathEscape(forged))
	v.get("/invitation/5d41402abc4b2a76b9719d911017c592")
	v.post("/sign-in", "name", "Fen Marsh", "password", "three words here")
	v.get("/case/" + url.PathEscape(forged))
	log := out.String()
	if !strings.Contains(log, "sign-in refused") {
		t.Error("a refused sign-in is not in the log")
	}
	for _, line := range strings.Split(strings.TrimSpace(log), "\n") {
		if !strings.HasPrefix(line, `{"time":`) || !strings.HasSuffix(line, "}") {
			t.Errorf("a line was forged: %q", line)
		}
	}
	for _, never := range []string{"Fen Marsh", "word-typed", "three words", "signed in", "5d41402a", "agent-of-a-stranger", v.cookies["linn"]} {
		if never != "" && strings.Contains(log, never) {
			t.Errorf("the log holds %q", never)
		}
	}
}

// The cookies of every answer: kept from scripts and other sites, without a
// domain.
func TestCookieFlags(t *testing.T) {
	h, _, nurse := accounts(t)
	for _, w := range []*httptest.ResponseRecorder{nurse.post("/theme", "theme", "dim"), h.visitor().post("/sign-in", "name", "Ama Reed", "password", "other words here"), nurse.post("/sign-out")} {
		if len(w.Result().Cookies()) == 0 {
			t.Error("no cookie")
		}
		for _, c := range w.Result().Cookies() {
			if !c.HttpOnly || c.Domain != "" || c.Path != "/" || c.SameSite != http.SameSiteStrictMode && c.SameSite != http.SameSiteLaxMode || strings.HasSuffix(c.Name, "linn") && c.SameSite != http.SameSiteStrictMode {
				t.Errorf("%s: %+v", c.Name, c)
			}
		}
	}
}

// A link that invites is not guessed: a thousand wrong ones find nobody.
func TestInvitationIsNotGuessed(t *testing.T) {
	h, _, _ := accounts(t)
	v := h.visitor()
	for i := range 1000 {
		token := strings.Repeat("0", 28) + sheetNumber(i)[1:]
		if w := v.get("/invitation/" + token); w.Code != http.StatusNotFound {
			t.Fatalf("%s: %d", token, w.Code)
		}
	}
}
