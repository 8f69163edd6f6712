package browsertest

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"
)

// benchKeys are the pages of the Bench that are played with.
var benchKeys = []string{"chamber", "envelope", "happening", "tip", "claims", "burn", "nucleus", "power", "pack", "session", "lens-maker", "rays"}

// Every page of the Bench fits a phone; with pictures asked for, for
// docs/screens, a laptop too.
func TestBenchPictures(t *testing.T) {
	sizes := []size{phone}
	if screens() != "" || full() {
		sizes = append(sizes, laptop)
	}
	b := workbench(t, true)
	for _, s := range sizes {
		b.see("/bench", s)
		b.fits(t, s)
		b.picture("bench-" + s.name)
		for _, key := range benchKeys {
			b.see("/bench/"+key, s)
			b.fits(t, s)
			b.picture("bench-" + key + "-" + s.name)
		}
		b.see("/shelf/machine", s)
		b.fits(t, s)
		b.picture("machine-" + s.name)
	}
}

// A slider moved by the keyboard alone moves its number, and the answer
// follows; what is typed moves the slider. The script's and the server's share
// of a change stays under 50 ms.
func TestBenchLive(t *testing.T) {
	b := open(t)
	b.see("/gallery/bench-chamber/bench/chamber", laptop)
	before := ask[string](b, `document.querySelector(".bench-rows").innerText`)
	b.do(chromedp.Focus(chromedp.CSS(`[data-moves="knob-vacuum_limit_mmhg"]`)))
	for range 20 {
		b.press("\u0302") // arrow left
	}
	if v := ask[string](b, `document.getElementById("knob-vacuum_limit_mmhg").value`); v != "200" {
		t.Fatalf("the number beside the slider is %s, want 200", v)
	}
	b.until("the answer follows", fmt.Sprintf(`document.querySelector(".bench-rows").innerText !== %q`, before))
	b.until("the address holds the settings", `location.search.includes("vacuum_limit_mmhg=200")`)
	b.do(chromedp.Focus(chromedp.CSS(`#knob-bottle_cm`)))
	ask[bool](b, `document.getElementById("knob-bottle_cm").select(), true`)
	b.press("7")
	b.press("5")
	if v := ask[string](b, `document.querySelector('[data-moves="knob-bottle_cm"]').value`); v != "75" {
		t.Errorf("the slider stands at %s, want 75", v)
	}
	b.until("the answer follows typing", `location.search.includes("bottle_cm=75")`)
	// The median of 15 changes, from the request to the new picture in the page.
	ms := ask[float64](b, `(async () => {
		const times = [], at = document.getElementById("knob-flow_ml_min");
		for (let i = 0; i < 15; i++) {
			at.value = 20 + i;
			const from = performance.now();
			const done = new Promise(r => document.addEventListener("htmx:after:swap", r, {once: true}));
			at.form.requestSubmit();
			await done;
			times.push(performance.now() - from);
		}
		return times.sort((a, b) => a - b)[7];
	})()`)
	t.Logf("a change takes %.1f ms", ms)
	if full() && ms > 50 {
		t.Errorf("a change takes %.1f ms, more than 50", ms)
	}
}
