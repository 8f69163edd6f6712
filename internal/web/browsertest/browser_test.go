// Package browsertest looks at the pages through a real browser: it has
// tests only. Pictures are written when LINN_SCREENS is set: 1 for
// docs/screens, or a folder of one's own.
package browsertest

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/chromedp"

	"linn/internal/web"
)

// browser is one headless browser over one server of pages.
type browser struct {
	t    *testing.T
	ctx  context.Context
	base string // of the pages looked at
	stop func()

	mu       sync.Mutex
	problems []string // console errors and broken policies since the last page
}

type size struct {
	name          string
	width, height int64
}

var (
	phone  = size{"phone", 390, 844}
	laptop = size{"laptop", 1366, 768}
)

// shared is the one browser of all tests; starting one takes a second or two.
var shared *browser

func TestMain(m *testing.M) {
	code := m.Run()
	if shared != nil {
		shared.stop()
	}
	os.Exit(code)
}

// open gives the browser over the gallery, or skips where there is none;
// with LINN_STRICT a missing browser is a failure.
func open(t *testing.T) *browser {
	t.Helper()
	if shared == nil {
		shared = start(t)
	}
	shared.t, shared.base = t, gallery
	return shared
}

// gallery is the address of the canned pages.
var gallery string

func start(t *testing.T) *browser {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("LINN_STRICT") != "" {
			t.Fatal("chromium is not installed")
		}
		t.Skip("chromium is not installed")
	}
	handler, err := web.New(web.Options{Access: nobody{}, Gallery: true, Version: "0.1.0"})
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(handler)
	gallery = server.URL
	profile, err := os.MkdirTemp("", "linn-browser-")
	if err != nil {
		t.Fatal(err)
	}
	alloc, stopAlloc := chromedp.NewExecAllocator(context.Background(), chromedp.ExecPath(path), chromedp.UserDataDir(profile),
		chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("hide-scrollbars", true), chromedp.Flag("force-color-profile", "srgb"), chromedp.WindowSize(1366, 768))
	ctx, stop := chromedp.NewContext(alloc)
	b := &browser{t: t, ctx: ctx, base: server.URL, stop: func() {
		stop()
		stopAlloc()
		server.Close()
		os.RemoveAll(profile)
	}}
	if _, err := chromedp.Call(ctx, log.Enable, cdp.Empty{}); err != nil {
		t.Fatal(err)
	}
	err = chromedp.Listen(ctx, func(ev any) {
		if e, ok := ev.(*log.EventEntryAdded); ok && e.Entry.Level == "error" {
			b.mu.Lock()
			b.problems = append(b.problems, e.Entry.Text+" "+e.Entry.URL)
			b.mu.Unlock()
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// do runs steps with a bound on their time.
func (b *browser) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 60*time.Second)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

// ask evaluates a script and decodes its answer.
func ask[T any](b *browser, script string) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 60*time.Second)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: %v", clip(script), err)
	}
	return v
}

func clip(s string) string {
	if len(s) > 80 {
		return s[:80] + "…"
	}
	return s
}

// see opens a page at a size and waits for its typefaces.
func (b *browser) see(url string, s size) {
	b.t.Helper()
	b.mu.Lock()
	b.problems = nil
	b.mu.Unlock()
	b.do(chromedp.EmulateViewport(s.width, s.height), chromedp.Navigate(b.base+url))
	ask[bool](b, `document.fonts.ready.then(() => true)`)
}

// heard returns the console's errors since the page was opened, except the
// browser's own note that a page answered with an error on purpose.
func (b *browser) heard() (list []string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, p := range b.problems {
		if !strings.Contains(p, "Failed to load resource") {
			list = append(list, p)
		}
	}
	return list
}

// screens is the folder for pictures, "" for none.
func screens() string {
	switch dir := os.Getenv("LINN_SCREENS"); dir {
	case "", "1":
		if dir == "1" {
			return "../../../docs/screens"
		}
		return ""
	default:
		return dir
	}
}

func (b *browser) picture(name string) {
	b.t.Helper()
	if screens() == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	b.write(name+".png", png, err)
}

// shot is a picture of the window alone, as it is scrolled.
func (b *browser) shot(name string) {
	b.t.Helper()
	if screens() == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	b.write(name+".png", png, err)
}

// pdf is the page as it goes to paper.
func (b *browser) pdf() []byte {
	b.t.Helper()
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize()))
	if err != nil {
		b.t.Fatal(err)
	}
	return pdf
}

// fetch gets a file of the program as the person signed in.
func (b *browser) fetch(path string) []byte {
	b.t.Helper()
	coded := ask[string](b, `fetch("`+path+`").then(r => { if (!r.ok) throw r.status; return r.arrayBuffer() }).then(a => btoa(String.fromCharCode(...new Uint8Array(a))))`)
	data, err := base64.StdEncoding.DecodeString(coded)
	if err != nil {
		b.t.Fatal(err)
	}
	return data
}

// print writes the page as PDF and its first page as a picture, and returns
// the number of pages.
func (b *browser) print(name string) int {
	b.t.Helper()
	return b.paper(name, b.pdf())
}

// paper writes the first page of a PDF as a picture and returns the number of
// its pages.
func (b *browser) paper(name string, pdf []byte) int {
	b.t.Helper()
	file := filepath.Join(b.t.TempDir(), "page.pdf")
	if err := os.WriteFile(file, pdf, 0o644); err != nil {
		b.t.Fatal(err)
	}
	if screens() != "" && name != "" {
		out := filepath.Join(screens(), name)
		if msg, err := exec.Command("pdftoppm", "-r", "90", "-gray", "-png", "-singlefile", file, out).CombinedOutput(); err != nil {
			b.t.Fatalf("pdftoppm: %v %s", err, msg)
		}
	}
	info, err := exec.Command("pdfinfo", file).Output()
	if err != nil {
		b.t.Fatalf("pdfinfo: %v", err)
	}
	pages := 0
	for _, line := range strings.Split(string(info), "\n") {
		if rest, ok := strings.CutPrefix(line, "Pages:"); ok {
			fmt.Sscan(rest, &pages)
		}
	}
	return pages
}

func (b *browser) write(name string, data []byte, err error) {
	b.t.Helper()
	if err == nil {
		data, err = small(data)
	}
	if err == nil {
		err = os.MkdirAll(screens(), 0o755)
	}
	if err == nil {
		err = os.WriteFile(filepath.Join(screens(), name), data, 0o644)
	}
	if err != nil {
		b.t.Fatal(err)
	}
}

// violation is one finding of the accessibility checker.
type violation struct {
	ID    string `json:"id"`
	Help  string `json:"help"`
	Nodes []struct {
		HTML    string `json:"html"`
		Summary string `json:"failureSummary"`
	} `json:"nodes"`
}

// axe runs the accessibility checker on the open page.
func (b *browser) axe() []violation {
	b.t.Helper()
	script, err := os.ReadFile("../../../third_party/axe-core/axe.min.js")
	if err != nil {
		b.t.Fatal(err)
	}
	b.do(chromedp.Evaluate[chromedp.Void](string(script)))
	raw := ask[string](b, `axe.run(document, {resultTypes: ["violations"]}).then(r => JSON.stringify(r.violations))`)
	var list []violation
	if err := json.Unmarshal([]byte(raw), &list); err != nil {
		b.t.Fatal(err)
	}
	return list
}
