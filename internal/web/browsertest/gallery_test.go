package browsertest

import (
	"os"
	"strconv"
	"strings"
	"testing"

	"linn/internal/web"
)

// Every page of the gallery: no console error, nothing wider than the window,
// and no finding of the checker. The checker looks at the laptop's size; with
// LINN_FULL at the phone's too.
func TestGallery(t *testing.T) {
	b := open(t)
	for _, page := range web.GalleryPages() {
		t.Run(page.Name, func(t *testing.T) {
			b.t = t
			b.see(page.URL(), laptop)
			b.check(t, laptop)
			b.see(page.URL(), phone)
			if full() {
				b.check(t, phone)
			} else {
				b.fits(t, phone)
			}
		})
	}
	b.t = t
}

// full asks for the long form of the tests.
func full() bool { return os.Getenv("LINN_FULL") != "" }

func (b *browser) fits(t *testing.T, s size) {
	t.Helper()
	if w := ask[int64](b, `document.documentElement.scrollWidth`); w > s.width {
		t.Errorf("the page is %d px wide in a window of %d: %s", w, s.width, ask[string](b, `[...document.querySelectorAll("body *")].filter(e => !e.closest(".scroll") && e.getBoundingClientRect().right > `+strconv.FormatInt(s.width, 10)+`).slice(-3).map(e => e.tagName + "." + e.className + " " + e.textContent.slice(0, 40)).join("; ")`))
	}
}

func (b *browser) check(t *testing.T, s size) {
	t.Helper()
	b.fits(t, s)
	if text := ask[string](b, `document.body.innerText`); strings.Contains(text, "[") && !strings.Contains(text, "“[") {
		at := strings.Index(text, "[")
		t.Errorf("a message is missing: %q", text[at:min(at+60, len(text))])
	}
	for _, v := range b.axe() {
		for _, n := range v.Nodes {
			t.Errorf("%s: %s\n\t%s\n\t%s", v.ID, v.Help, clip(n.HTML), n.Summary)
		}
	}
	for _, p := range b.heard() {
		t.Errorf("console: %s", p)
	}
}
