package web

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"net/url"
	"reflect"
	"strings"
	"testing"

	"linn/eye"
	"linn/finding"
)

// recorder records what the handlers ask of the pathway.
type recorder struct {
	canned
	got any
}

func (r *recorder) StartCase(_ context.Context, _ Actor, c NewCase) (string, error) {
	r.got = c
	return "c9", r.failure
}
func (r *recorder) Measure(_ context.Context, _ Actor, m Measurement) (EyeCase, error) {
	r.got = m
	return r.eye, r.failure
}
func (r *recorder) Pass(_ context.Context, _ Actor, p Pass) (EyeCase, error) {
	r.got = p
	return r.eye, r.failure
}
func (r *recorder) Choose(_ context.Context, _ Actor, c Choice) (EyeCase, error) {
	r.got = c
	return r.eye, r.failure
}
func (r *recorder) Confirm(_ context.Context, _ Actor, c Confirmation) (EyeCase, error) {
	r.got = c
	return r.eye, r.failure
}
func (r *recorder) List(_ context.Context, _ Actor, l Listing) (EyeCase, error) {
	r.got = l
	return r.eye, r.failure
}
func (r *recorder) Reopen(_ context.Context, _ Actor, o Reopening) (EyeCase, error) {
	r.got = o
	return r.eye, r.failure
}
func (r *recorder) Close(_ context.Context, _ Actor, c Closing) error {
	r.got = c
	return r.failure
}
func (r *recorder) Sign(_ context.Context, _ Actor, s Signing) (EyeCase, error) {
	r.got = s
	return r.eye, r.failure
}
func (r *recorder) AddModel(_ context.Context, _ Actor, m NewModel) error {
	r.got = m
	return r.failure
}
func (r *recorder) Stock(_ context.Context, _ Actor, s StockChange) error {
	r.got = s
	return r.failure
}
func (r *recorder) AddPerson(_ context.Context, _ Actor, p NewPerson) (string, error) {
	r.got = p
	return "p9", r.failure
}
func (r *recorder) ChangePerson(_ context.Context, _ Actor, p PersonChange) error {
	r.got = p
	return r.failure
}
func (r *recorder) First(_ http.ResponseWriter, _ *http.Request, p NewPerson) error {
	r.got = p
	return r.failure
}

func serve(t *testing.T, r *recorder) http.Handler {
	t.Helper()
	h, err := New(Options{Pathway: r, Access: r})
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func post(h http.Handler, path, form string, headers ...string) *httptest.ResponseRecorder {
	req := httptest.NewRequest("POST", path, strings.NewReader(form))
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for i := 0; i+1 < len(headers); i += 2 {
		req.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, req)
	return w
}

func TestFormsReachThePathway(t *testing.T) {
	for _, row := range []struct {
		path, form string
		want       any
		to         string
	}{
		{"/case/new", "name=+Ada+Moor+&identifier=H-1&sex=female&born=1950-01&side=left&list=2026-03-03&allergies=latex",
			NewCase{"Ada Moor", "H-1", "female", "1950-01", "left", "2026-03-03", "latex", false}, "/case/c9"},
		{"/case/c1/pass", "revision=7&code=x&field=y&reason=because", Pass{"c1", 7, "x", "y", "because"}, "/case/c1#checked"},
		{"/case/c1/lens", "revision=7&model=m&shown=m&power=%2B21.50&target=-0.25&place=sulcus&reason=why", Choice{"c1", 7, "m", "m", "+21.50", "-0.25", "sulcus", "why"}, "/case/c1#lens"},
		{"/case/c1/confirm", "revision=7&read=name&read=side", Confirmation{"c1", 7, []string{"name", "side"}}, "/case/c1#sheet"},
		{"/case/c1/list", "revision=7&date=2026-03-04&place=T2&order=3", Listing{"c1", 7, "2026-03-04", "T2", "3"}, "/case/c1#sheet"},
		{"/case/c1/reopen", "revision=7&reason=late", Reopening{"c1", 7, "late"}, "/case/c1#sheet"},
		{"/case/c1/close", "revision=7&why=operated&reason=", Closing{"c1", 7, "operated", ""}, "/ward"},
		{"/case/c1/sign", "revision=7&alone=night", Signing{"c1", 7, "night", Actor{}}, "/case/c1#sheet"},
		{"/case/c1/sign", "revision=seven", Signing{"c1", 0, "", Actor{}}, "/case/c1#sheet"},
		{"/shelf/model", "name=Tarn&a=119,0&from_d=10&to_d=30&step_d=0.5&a1=&material=PMMA&pieces=one-piece&made_for=chamber",
			NewModel{"Tarn", map[string]string{"a": "119,0"}, "10", "30", "0.5", nil, "PMMA", "one-piece", "chamber"}, "/shelf"},
		{"/shelf/stock", "model=m&revision=4&count.%2B20.00=2&count.%2B20.50=", StockChange{"m", 4, map[string]string{"+20.00": "2", "+20.50": ""}}, "/shelf"},
		{"/desk/person", "name=N&password=+secret+&role=nurse", NewPerson{"N", " secret ", "nurse", false}, "/desk"},
		{"/desk/person/p2", "revision=2&role=surgeon&supervisor=yes&password=new", PersonChange{"p2", 2, "surgeon", true, false, "new"}, "/desk"},
		{"/start", "name=N&password=p&role=surgeon", NewPerson{"N", "p", "administrator", false}, "/ward"},
	} {
		r := &recorder{canned: canned{who: surgeonLark, eye: averageEye()}}
		w := post(serve(t, r), row.path, row.form)
		if !reflect.DeepEqual(r.got, row.want) {
			t.Errorf("%s: got %#v, want %#v", row.path, r.got, row.want)
		}
		if w.Code != http.StatusSeeOther || w.Header().Get("Location") != row.to {
			t.Errorf("%s: %d to %q, want %q", row.path, w.Code, w.Header().Get("Location"), row.to)
		}
	}
}

// Readings arrive as typed, on the side they were typed for.
func TestMeasureKeepsTheText(t *testing.T) {
	r := &recorder{canned: canned{who: technicianBay, eye: averageEye()}}
	form := url.Values{"revision": {"7"}, "fellow": {"5"}, "right.axial_length_mm": {" 23,41 "}, "left.axial_length_mm": {"abc"}, "right.no_such_key": {"1"}}
	post(serve(t, r), "/case/c1/readings", form.Encode())
	want := Measurement{"c1", 7, 5, map[eye.Side]map[string]string{
		eye.Right: {"axial_length_mm": " 23,41 "}, eye.Left: {"axial_length_mm": "abc"}}}
	if !reflect.DeepEqual(r.got, want) {
		t.Errorf("got %#v", r.got)
	}
}

// The script gets the changed parts only, and never the fields themselves:
// what somebody is typing is not overwritten.
func TestPartialAnswer(t *testing.T) {
	r := &recorder{canned: canned{who: technicianBay, eye: averageEye()}}
	body := post(serve(t, r), "/case/c1/readings", "revision=7", "HX-Request", "true").Body.String()
	for _, want := range []string{`hx-target="#saved"`, "saved 10:42, revision 7", `hx-target="#lens-body"`, `hx-target="#right-k_flat_d-msg"`} {
		if !strings.Contains(body, want) {
			t.Errorf("the answer lacks %q", want)
		}
	}
	for _, never := range []string{"<html", `id="right-axial_length_mm" `} {
		if strings.Contains(body, never) {
			t.Errorf("the answer holds %q", never)
		}
	}
}

func TestErrorsInWords(t *testing.T) {
	refused := finding.Refusals{{Code: "not-a-number", Field: "target_d", Values: finding.Values{{Name: "got", Text: "x"}}}}
	for _, row := range []struct {
		err    error
		status int
		says   string
	}{
		{ErrNotFound, 404, "not in this ward’s record"},
		{ErrForbidden, 403, "Not yours to do"},
		{errors.New("disk: /secret/path"), 500, "Something broke"},
		{refused, 422, "target refraction"},
		{galleryConflict(), 409, "23.14"},
	} {
		r := &recorder{canned: canned{who: surgeonLark, eye: averageEye(), failure: row.err}}
		w := post(serve(t, r), "/case/c1/lens", "revision=7&target=x")
		if w.Code != row.status || !strings.Contains(w.Body.String(), row.says) {
			t.Errorf("%v: status %d, says %q: %v", row.err, w.Code, row.says, strings.Contains(w.Body.String(), row.says))
		}
		if strings.Contains(w.Body.String(), "/secret/path") {
			t.Error("a raw error reached a person")
		}
	}
}

func TestDoors(t *testing.T) {
	nobody := &recorder{}
	for path, want := range map[string]string{"/": "/sign-in", "/ward": "/sign-in", "/case/c1": "/sign-in", "/case/c1/sheet": "/sign-in", "/desk": "/sign-in"} {
		if w := get(serve(t, nobody), path); w.Header().Get("Location") != want {
			t.Errorf("%s leads to %q, want %q", path, w.Header().Get("Location"), want)
		}
	}
	if w := get(serve(t, &recorder{canned: canned{empty: true}}), "/ward"); w.Header().Get("Location") != "/start" {
		t.Errorf("an empty ward leads to %q", w.Header().Get("Location"))
	}
	if w := get(serve(t, nobody), "/start"); w.Code != 404 {
		t.Errorf("first start with accounts: %d", w.Code)
	}
	if w := post(serve(t, nobody), "/sign-in", "name=x&password=y"); w.Code != 401 || !strings.Contains(w.Body.String(), "do not fit") {
		t.Errorf("wrong password: %d", w.Code)
	}
	if w := post(serve(t, nobody), "/be", "person=p1"); w.Code != 404 {
		t.Errorf("be outside the demo: %d", w.Code)
	}
	if w := post(serve(t, nobody), "/case/c1/sign", "revision=1"); nobody.got != nil || w.Header().Get("Location") != "/sign-in" {
		t.Error("somebody signed without an account")
	}
}

func TestOtherSitesAreRefused(t *testing.T) {
	r := &recorder{canned: canned{who: surgeonLark, eye: averageEye()}}
	w := post(serve(t, r), "/case/c1/sign", "revision=7", "Sec-Fetch-Site", "cross-site")
	if w.Code != http.StatusForbidden || r.got != nil {
		t.Errorf("status %d, reached the pathway: %v", w.Code, r.got != nil)
	}
}

func TestFormTooLarge(t *testing.T) {
	r := &recorder{canned: canned{who: surgeonLark, eye: averageEye()}}
	w := post(serve(t, r), "/case/c1/readings", "revision=7&right.device="+strings.Repeat("x", maxForm))
	if w.Code != http.StatusBadRequest || r.got != nil {
		t.Errorf("status %d, reached the pathway: %v", w.Code, r.got != nil)
	}
}

func TestThemeStaysOnTheDevice(t *testing.T) {
	h := serve(t, &recorder{canned: canned{who: surgeonLark}})
	w := post(h, "/theme", "theme=dim&back=/desk")
	cookie := w.Result().Cookies()
	if len(cookie) != 1 || cookie[0].Value != "dim" || w.Header().Get("Location") != "/desk" {
		t.Fatalf("cookies %v, to %q", cookie, w.Header().Get("Location"))
	}
	req := httptest.NewRequest("GET", "/desk", nil)
	req.AddCookie(cookie[0])
	w = httptest.NewRecorder()
	h.ServeHTTP(w, req)
	if !strings.Contains(w.Body.String(), `data-theme="dim"`) {
		t.Error("the page is not dim")
	}
}

func TestOwnPath(t *testing.T) {
	for in, want := range map[string]string{"/\t/evil.example": "/ward", "/desk?x=1": "/desk?x=1", "": "/ward", "//evil.example": "/ward", "https://evil.example": "/ward", `/\evil`: "/ward", "/a\nb": "/ward"} {
		if got := ownPath(in); got != want {
			t.Errorf("ownPath(%q) = %q, want %q", in, got, want)
		}
	}
}

// A page that breaks says so and stops nothing else.
func TestPanicIsSaid(t *testing.T) {
	s, err := newServer(Options{Access: &canned{who: surgeonLark}})
	if err != nil {
		t.Fatal(err)
	}
	w := httptest.NewRecorder()
	broken := route{page: func(http.ResponseWriter, *http.Request, Actor) error { panic("our own fault") }}
	s.handle(broken).ServeHTTP(w, httptest.NewRequest("GET", "/", nil))
	if w.Code != 500 || strings.Contains(w.Body.String(), "our own fault") {
		t.Errorf("status %d, body %q", w.Code, w.Body.String())
	}
}
