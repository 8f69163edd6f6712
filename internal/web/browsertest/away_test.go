package browsertest

import (
	"net/http"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"linn/eye"
)

// Ways in which the server is away.
const (
	there = iota
	away  // nothing arrives
	mute  // what arrives is done, and no answer comes back
)

// line is the way between browser and program, which breaks at will.
type line struct {
	next http.Handler
	how  atomic.Int32
	got  atomic.Int32 // readings that arrived
}

func (l *line) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	how := l.how.Load()
	if how == away {
		panic(http.ErrAbortHandler)
	}
	if strings.HasSuffix(r.URL.Path, "/readings") {
		l.got.Add(1)
		if how == mute {
			l.next.ServeHTTP(discard{http.Header{}}, r)
			panic(http.ErrAbortHandler)
		}
	}
	l.next.ServeHTTP(w, r)
}

type discard struct{ h http.Header }

func (d discard) Header() http.Header         { return d.h }
func (d discard) Write(p []byte) (int, error) { return len(p), nil }
func (d discard) WriteHeader(int)             {}

func (b *bench) text(id string, side eye.Side, key string) string {
	b.t.Helper()
	j, err := b.path.Check(b.t.Context(), b.who["Corvan Eskerling"], id)
	if err != nil {
		b.t.Fatal(err)
	}
	return j.Eyes[side].Texts[key]
}

func (b *bench) revisions(id string) int {
	b.t.Helper()
	j, err := b.path.Check(b.t.Context(), b.who["Corvan Eskerling"], id)
	if err != nil {
		b.t.Fatal(err)
	}
	return j.Revision
}

func (b *bench) typeIn(id, text string) {
	b.t.Helper()
	ask[bool](b.browser, `(document.getElementById("`+id+`").value = "", true)`)
	b.do(chromedp.Focus(chromedp.CSS("#" + id)))
	b.press(text + kb.Tab)
}

// eventually waits until the record holds a text.
func (b *bench) eventually(id string, side eye.Side, key, want string) {
	b.t.Helper()
	for range 300 {
		if b.text(id, side, key) == want {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.t.Fatalf("%s is %q in the record, want %q", key, b.text(id, side, key), want)
}

// While the server is away the browser keeps what was typed, says so, shows it
// to nobody, and sends it once; an answer that was lost stores nothing twice;
// what a page could not send, the next one does.
func TestServerAway(t *testing.T) {
	l := &line{}
	b := workbenchOver(t, true, func(h http.Handler) http.Handler { l.next = h; return l })
	b.see("/ward", laptop)
	b.be("Haldis Marrowick")
	id := b.cases["Brennor Tidewell left"]
	b.see("/case/"+id, laptop)
	before := b.revisions(id)

	l.how.Store(away)
	b.typeIn("left-acd_mm", "3.33")
	b.until("the page says it is not sent", `!document.getElementById("unsent").hidden && document.getElementById("unsent").textContent.trim().startsWith("Not sent: what you typed is kept on this device")`)
	if kept := ask[string](b.browser, `JSON.stringify(localStorage)`); !strings.Contains(kept, "linn-outbox-") || strings.Contains(kept, "3.33") || strings.Contains(kept, "acd_mm") || strings.Contains(kept, id) {
		t.Errorf("the storage holds %s", clip(kept))
	}
	b.shot("unsent-laptop")
	l.how.Store(there)
	b.eventually(id, eye.Left, "acd_mm", "3.33")
	b.until("nothing waits", `document.getElementById("unsent").hidden && !JSON.stringify(localStorage).includes("linn-outbox-")`)
	if n := b.revisions(id); n != before+1 {
		t.Errorf("%d revisions were written, want 1", n-before)
	}

	got := l.got.Load()
	l.how.Store(mute)
	b.typeIn("left-acd_mm", "3.34")
	b.until("the page says it is not sent", `!document.getElementById("unsent").hidden`)
	b.eventually(id, eye.Left, "acd_mm", "3.34")
	b.typeIn("left-lens_thickness_mm", "4.44") // made from what was stored without an answer
	time.Sleep(time.Second)
	l.how.Store(there)
	b.eventually(id, eye.Left, "lens_thickness_mm", "4.44")
	b.until("nothing waits", `document.getElementById("unsent").hidden && !JSON.stringify(localStorage).includes("linn-outbox-")`)
	if n, sent := b.revisions(id), l.got.Load()-got; n != before+3 || sent < 3 {
		t.Errorf("%d revisions after %d sendings, want 2", n-before-1, sent)
	}

	l.how.Store(away)
	b.typeIn("left-white_to_white_mm", "11.66")
	b.until("the page says it is not sent", `!document.getElementById("unsent").hidden`)
	b.do(chromedp.Navigate("about:blank"))
	l.how.Store(there)
	b.see("/ward", laptop) // another page sends it
	b.eventually(id, eye.Left, "white_to_white_mm", "11.66")
	if n := b.revisions(id); n != before+4 {
		t.Errorf("%d revisions, want 4", n-before)
	}
}

// Two people, one eye, two browsers: the second sees both versions, and
// nothing is overwritten until they choose.
func TestTwoPeopleOneEye(t *testing.T) {
	b := workbench(t, true)
	id := b.cases["Brennor Tidewell left"]
	second := b.another(t)
	b.see("/ward", laptop)
	b.be("Haldis Marrowick")
	b.see("/case/"+id, laptop)
	second.see("/ward", laptop)
	second.be("Liruna Saltmarsh")
	second.see("/case/"+id, laptop)
	before := b.revisions(id)
	b.typeIn("left-acd_mm", "3.31")
	b.eventually(id, eye.Left, "acd_mm", "3.31")
	second.typeIn("left-acd_mm", "3.52")
	second.until("both versions are shown", `document.readyState === "complete" && document.querySelectorAll("table.versions tbody tr").length === 1`)
	page := ask[string](second.browser, `document.querySelector("main").innerText + " " + document.querySelector(".identity").innerText`)
	for _, want := range []string{"Haldis Marrowick", "3.31", "3.52", "LEFT EYE", "Brennor Tidewell"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q: %s", want, page)
		}
	}
	for _, v := range second.axe() {
		t.Errorf("%s: %s %v", v.ID, v.Help, v.Nodes)
	}
	second.shot("two-people-laptop")
	if got := b.text(id, eye.Left, "acd_mm"); got != "3.31" || b.revisions(id) != before+1 {
		t.Errorf("the record holds %q at revision %d", got, b.revisions(id))
	}
	ask[bool](second.browser, `(document.querySelector("main input[type=radio][value='3.52']").click(), true)`)
	ask[bool](second.browser, `(document.querySelector("main form button").click(), true)`)
	b.eventually(id, eye.Left, "acd_mm", "3.52")
	second.until("the eye is shown", `document.readyState === "complete" && !!document.getElementById("left-acd_mm")`)
	b.see("/case/"+id+"/history?older="+strconv.Itoa(before+1)+"&newer="+strconv.Itoa(before+2), laptop)
	if text := ask[string](b.browser, `document.querySelector("#compared").innerText`); !strings.Contains(text, "3.31") || !strings.Contains(text, "3.52") {
		t.Errorf("the history shows %q", text)
	}
}

// another is a second browser over the same program, with cookies of its own.
func (b *bench) another(t *testing.T) *bench {
	t.Helper()
	ctx, stop := chromedp.NewContext(b.ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(stop)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	two := *b
	two.browser = &browser{t: t, ctx: ctx, base: b.base, stop: func() {}}
	return &two
}
