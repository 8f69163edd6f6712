package browsertest

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"linn/internal/pathway"
)

// mostTaps is how often the circulating person may tap for an operation in
// which nothing went otherwise than meant, from the open form to its close.
// Figures are typed on a keyboard or scanned; Enter leads from one to the next.
const mostTaps = 25

// fingers tap and count.
type fingers struct {
	*bench
	taps int
}

// tap clicks one thing once, where a finger would: in the middle of what is
// seen there.
func (f *fingers) tap(css string) {
	f.t.Helper()
	if !ask[bool](f.browser, `(() => { const e = document.querySelector(`+quote(css)+`); if (!e) return false; e.scrollIntoView({block: "center"}); const r = e.getBoundingClientRect();
		const hit = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2); return !!hit && (e.contains(hit) || hit.contains(e)) && r.height >= 44; })()`) {
		f.t.Fatalf("%s cannot be tapped: %s", css, ask[string](f.browser, `(() => { const e = document.querySelector(`+quote(css)+`); return e ? JSON.stringify(e.getBoundingClientRect()) : "not there, but " + document.querySelector("main").innerText.slice(0, 400) })()`))
	}
	f.do(chromedp.Click(chromedp.CSS(css)))
	f.taps++
}

func quote(s string) string { return "\"" + strings.ReplaceAll(s, "\"", "\\\"") + "\"" }

func (f *fingers) word(key, word string) {
	f.t.Helper()
	f.tap(`.tap:has([name="v.` + key + `"][value="` + word + `"])`)
}

// An ordinary phaco by the nurse, on the phone: counted.
func TestOperationTaps(t *testing.T) {
	for _, way := range []struct {
		size     size
		scripted bool
	}{{phone, true}, {laptop, false}} {
		b := workbench(t, true)
		id := b.cases["Amrelle Saltmarsh right"]
		b.see("/ward", way.size)
		b.be("Haldis Marrowick")
		if !way.scripted {
			b.scripts(false)
			t.Cleanup(func() { b.scripts(true) })
		}
		b.see("/case/"+id+"/operation", way.size)
		f := &fingers{bench: b}
		if way.scripted {
			b.picture("operation-phone")
		}
		f.word("technique", "phaco")
		f.tap(`button[name="now"][value="started"]`)
		b.until("the start stands", `document.readyState === "complete" && (document.getElementById("f-started") || {}).value === "09:30"`)
		f.word("anaesthesia", "sub-tenon")
		f.word("incision_kind", "clear-corneal")
		f.word("dye", "none")
		f.word("viscoelastic", "both")
		f.word("capsule_opening", "continuous")
		f.word("hydrodissection", "turns-freely")
		f.word("nucleus_phaco", "stop-chop")
		f.tap("#f-ultrasound_s")
		b.press("38,5")
		for _, next := range []string{"22", "7.4", "85"} {
			if way.scripted {
				b.press(kb.Enter) // leads to the next figure
			} else {
				b.press(kb.Tab)
			}
			b.press(next)
		}
		f.word("cortex", "complete")
		f.word("capsule_polish", "posterior")
		f.tap(`button[name="as-planned"]`)
		b.until("the planned lens stands", `document.readyState === "complete" && !!(document.getElementById("f-lens_model") || {}).value`)
		f.tap("#f-lens_serial")
		b.press("S-20418")
		f.word("lens_place", "bag")
		f.word("closure", "hydrated")
		f.word("leak_test", "dry")
		f.word("antibiotic", "intracameral")
		f.word("complications", "none")
		f.tap("#f-load_number")
		b.press("L-0317")
		b.now = b.now.Add(11 * time.Minute)
		f.tap(`button[name="now"][value="ended"]`)
		b.until("the end stands", `document.readyState === "complete" && (document.getElementById("f-ended") || {}).value === "09:41"`)
		f.tap(`button[name="done"]`)
		b.until("the eye is shown as done", `document.readyState === "complete" && location.pathname.endsWith("`+id+`") && !!document.querySelector("#dot-done.done")`)
		t.Logf("%d taps, scripts %t", f.taps, way.scripted)
		if f.taps > mostTaps {
			t.Errorf("%d taps, at most %d", f.taps, mostTaps)
		}
		j, err := b.path.Check(t.Context(), b.who["Haldis Marrowick"], id)
		if err != nil {
			t.Fatal(err)
		}
		r := j.After.Record.Values
		for key, want := range map[string]string{"ultrasound_s": "38,5", "ultrasound_percent": "22", "machine_energy": "7.4", "fluid_ml": "85", "lens_serial": "S-20418", "load_number": "L-0317",
			"started": "09:30", "ended": "09:41", "hydrodissection": "turns-freely", "operated_on": "2026-03-02"} {
			if r[key] != want {
				t.Errorf("scripts %t: %s is %q, not %q", way.scripted, key, r[key], want)
			}
		}
		if len(j.After.Findings) != 0 || j.Closed != "operated" || len(j.After.Missing) != 0 {
			t.Errorf("scripts %t: %v, lacks %v", way.scripted, j.After.Findings, j.After.Missing)
		}
		if !way.scripted {
			continue
		}
		b.see("/case/"+id+"#done", laptop)
		b.check(t, laptop)
		b.picture("eye-done-laptop")
	}
}

// Two people write one operation in two windows: the second sees both, chooses,
// and nothing of either is lost.
func TestTwoEditors(t *testing.T) {
	b := workbench(t, true)
	id := b.cases["Amrelle Saltmarsh right"]
	b.see("/ward", laptop)
	b.be("Haldis Marrowick")
	b.see("/case/"+id+"/operation", laptop)
	_, err := b.path.Operate(t.Context(), b.who["Corvan Eskerling"], pathway.Operating{Case: id, Seen: pathway.Newest,
		Values: map[string]string{"technique": "msics", "anaesthesia": "peribulbar"}})
	if err != nil {
		t.Fatal(err)
	}
	// The form is on the revision before. Leaving a step saves, and the page
	// then shows both by itself.
	f := &fingers{bench: b}
	f.word("technique", "phaco")
	f.word("cortex", "complete")
	b.until("both versions are shown", `document.querySelectorAll(".versions tbody tr").length === 3`)
	text := ask[string](b.browser, `document.querySelector("main").innerText`)
	for _, want := range []string{"Corvan Eskerling", "phaco", "manual small incision", "peribulbar", "all out"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	b.check(t, laptop)
	b.picture("operation-conflict-laptop")
	b.do(chromedp.Click(chromedp.CSS(`form .row button`)))
	b.until("the form is back", `!!document.getElementById("f-started")`)
	j, err := b.path.Check(t.Context(), b.who["Haldis Marrowick"], id)
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]string{"technique": "phaco", "anaesthesia": "peribulbar", "cortex": "complete"} {
		if got := j.After.Record.Values[key]; got != want {
			t.Errorf("%s is %q, not %q", key, got, want)
		}
	}
}

// scripts lets the pages' scripts run, or not; those of the test still do.
func (b *bench) scripts(run bool) {
	b.t.Helper()
	params := emulation.SetScriptExecutionDisabledParams{Value: !run}
	if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, params); err != nil {
		b.t.Fatal(err)
	}
}
