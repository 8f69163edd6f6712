package browsertest

import "testing"

// Every sheet is one A4 page, with the longest texts too.
func TestSheetIsOnePage(t *testing.T) {
	b := open(t)
	for _, name := range []string{"sheet", "sheet-not-signed", "sheet-longest"} {
		b.see("/gallery/"+name+"/case/c1/sheet", laptop)
		if n := b.print(""); n != 1 {
			t.Errorf("%s prints on %d pages", name, n)
		}
		// The page clips what runs over: nothing may reach beyond its foot.
		b.see("/gallery/"+name+"/case/c1/sheet", laptop)
		if over := ask[float64](b, `(() => { const s = document.querySelector(".sheet"); return s.getBoundingClientRect().height - 297 * 96 / 25.4 })()`); over > 1 {
			t.Errorf("%s is %.0f px higher than an A4 page", name, over)
		}
	}
}

// The dim theme holds the same accessibility.
func TestDimTheme(t *testing.T) {
	b := open(t)
	pages := []string{"/gallery/eye-two-stops/case/c1"}
	if full() {
		pages = append(pages, "/gallery/ward/ward", "/gallery/eye-average/case/c1", "/gallery/shelf/shelf")
	}
	for _, page := range pages {
		b.see(page, laptop)
		ask[bool](b, `(document.documentElement.dataset.theme = "dim", true)`)
		for _, v := range b.axe() {
			t.Errorf("%s: %s: %s %v", page, v.ID, v.Help, v.Nodes)
		}
	}
}
