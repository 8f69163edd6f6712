package browsertest

import (
	"strings"
	"testing"

	"linn/internal/web"
)

// Every page of the gallery at two sizes and in both themes: no console
// error, nothing wider than the window, and no finding of the checker.
func TestGallery(t *testing.T) {
	b := open(t)
	for _, page := range web.GalleryPages() {
		for _, s := range []size{laptop, phone} {
			t.Run(page.Name+"/"+s.name, func(t *testing.T) {
				b.t = t
				b.see(page.URL(), s)
				b.check(t, s)
				b.picture(page.Name + "-" + s.name)
			})
		}
	}
	b.t = t
}

func (b *browser) check(t *testing.T, s size) {
	t.Helper()
	if w := ask[int64](b, `document.documentElement.scrollWidth`); w > s.width {
		t.Errorf("the page is %d px wide in a window of %d", w, s.width)
	}
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
