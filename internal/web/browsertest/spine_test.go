package browsertest

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// mostTabs is how often one may press Tab from the empty form of a new eye to
// the ladder.
const mostTabs = 40

// keys types and counts Tab.
type keys struct {
	*bench
	tabs int
}

func (k *keys) tab(text string) {
	k.t.Helper()
	if text != "" {
		k.press(text)
	}
	k.press(kb.Tab)
	k.tabs++
}

// From an empty form to a signed sheet on paper, through the real program: a
// new person's eye by keyboard alone, entered twice, chosen, read back by a
// second person, signed by a third, printed.
func TestSpine(t *testing.T) {
	b := workbench(t, true)
	b.see("/ward", laptop)
	b.be("Haldis Marrowick")
	k := &keys{bench: b}
	b.enterNewEye(k)
	if k.tabs > mostTabs {
		t.Errorf("%d presses of Tab, at most %d", k.tabs, mostTabs)
	}
	t.Logf("%d presses of Tab from the empty form to the ladder", k.tabs)
	b.enterAgain()
	b.be("Corvan Eskerling")
	b.chooseLens()
	b.signDisabled("before the second person")
	b.be("Osmer Tidewell")
	b.readBack()
	b.be("Corvan Eskerling")
	b.sign()
	b.printed()
	for _, p := range b.heard() {
		t.Errorf("console: %s", p)
	}
}

func (b *bench) enterNewEye(k *keys) {
	b.t.Helper()
	b.see("/case/new", laptop)
	if got := b.focused(); got != "name" {
		b.t.Fatalf("the form begins at %s", got)
	}
	k.tab("Sorrel Brindlewick")
	k.tab("H-0999")
	k.tab(" ")          // right eye
	k.tab("w")          // woman
	k.tab("1957-04-11") //
	k.tab("")           // allergies: none named
	k.tab(" ")          // asked: none known
	k.tab("20260305")
	b.press(kb.Enter)
	b.until("the readings are there", `!!document.getElementById("right-axial_length_mm") && document.readyState === "complete"`)
	if got := b.focused(); got != "right-axial_length_mm" {
		b.t.Fatalf("the readings begin at %s", got)
	}
	for _, text := range []string{"2341", "o", "", "4325", "12", "4400", "102", "13375", "312", "445", "1180", "541", "n", "n", "n", "20260224", "B1", "HM"} {
		k.tab(text)
	}
	b.until("the ladder stands there", `!!document.querySelector("#lens .ladder .wide svg") && document.querySelector("#lens table.methods").querySelectorAll("tbody tr").length === 5`)
	if saved := ask[string](b.browser, `document.getElementById("saved").textContent`); !regexp.MustCompile(`^saved 09:30, revision \d+$`).MatchString(saved) {
		b.t.Errorf("the page says %q", saved)
	}
	b.rest()
}

// rest waits until nothing is under way to the program.
func (b *bench) rest() { b.do(chromedp.Sleep(400 * time.Millisecond)) }

func (b *bench) enterAgain() {
	b.t.Helper()
	for _, f := range [][2]string{{"again-right-axial_length_mm", "2341"}, {"again-right-k_flat_d", "4325"}, {"again-right-k_steep_d", "44,00"}} {
		if got := b.value(f[0]); got != "" {
			b.t.Errorf("%s is filled with %q", f[0], got)
		}
		b.do(chromedp.Focus(chromedp.CSS("#" + f[0])))
		b.press(f[1])
	}
	b.do(chromedp.Focus(chromedp.CSS("#queue button")))
	b.press(kb.Enter)
	b.until("nothing is left to be entered again", `!document.querySelector("#queue form")`)
}

// pick chooses an entry of a list as a person does, with its change noticed.
func (b *bench) pick(id, with string) {
	b.t.Helper()
	ask[bool](b.browser, `(() => { const s = document.getElementById("`+id+`"); const o = [...s.options].find(o => o.textContent.includes("`+with+`"));
		s.value = o.value; s.dispatchEvent(new Event("change", {bubbles: true})); return true })()`)
}

func (b *bench) chooseLens() {
	b.t.Helper()
	b.do(chromedp.Focus(chromedp.CSS("#target")))
	b.press("0" + kb.Tab)
	b.until("the target stands", `document.querySelector("#sheet .needs").textContent.includes("yes The target")`)
	b.pick("power", "nearest")
	b.until("the lens stands", `!!document.querySelector("#lens .says .big .figure")`)
	if other := ask[int](b.browser, `document.querySelectorAll("#sheet .needs .open").length`); other != 1 {
		b.t.Errorf("%d needs are open: %s", other, ask[string](b.browser, `document.querySelector("#sheet .needs").innerText`))
	}
}

func (b *bench) signDisabled(when string) {
	b.t.Helper()
	if !ask[bool](b.browser, `!document.querySelector("form.sign button:not([disabled])")`) {
		b.t.Errorf("the plan can be signed %s", when)
	}
}

func (b *bench) readBack() {
	b.t.Helper()
	if ask[bool](b.browser, `!!document.querySelector("form.sign")`) {
		b.t.Error("a nurse is offered to sign")
	}
	ask[bool](b.browser, `(document.querySelectorAll("form.confirm input[type=checkbox]").forEach(x => x.click()), true)`)
	b.do(chromedp.Focus(chromedp.CSS("form.confirm button")))
	b.press(kb.Enter)
	b.until("the second person is noted", `!!document.querySelector("#sheet .confirmed")`)
}

func (b *bench) sign() {
	b.t.Helper()
	b.do(chromedp.Focus(chromedp.CSS("form.sign button")))
	b.press(kb.Enter)
	b.until("the plan is signed", `!!document.querySelector("#sheet .signed .sheet-number")`)
}

// printed checks the sheet both ways it goes to paper.
func (b *bench) printed() {
	b.t.Helper()
	number := ask[string](b.browser, `document.querySelector(".sheet-number").textContent.match(/\d{5}/)[0]`)
	path := ask[string](b.browser, `document.querySelector("#sheet a.button").getAttribute("href")`)
	b.see(path, laptop)
	if n := b.print(""); n != 1 {
		b.t.Errorf("the sheet prints on %d pages", n)
	}
	text := pdfText(b.t, b.pdf())
	pdf := pdfText(b.t, b.fetch(path+".pdf"))
	for what, text := range map[string]string{"the page on paper": text, "the PDF": pdf} {
		for _, want := range []string{number, "Sorrel Brindlewick", "H-0999", "RIGHT EYE", "23.41", "Corvan Eskerling", "Osmer Tidewell"} {
			if !strings.Contains(text, want) {
				b.t.Errorf("%s lacks %q", what, want)
			}
		}
		if strings.Contains(text, "NOT SIGNED") {
			b.t.Errorf("%s says NOT SIGNED", what)
		}
	}
	if !regexp.MustCompile(`\+2\d\.\d0`).MatchString(pdf) {
		b.t.Error("the PDF shows no power")
	}
}

// pdfText reads a PDF as text.
func pdfText(t *testing.T, pdf []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(file, pdf, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-layout", file, "-").Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	return string(out)
}

// No eye of the demo with a STOP can be signed, by the page or past it.
func TestStopsAreNotSigned(t *testing.T) {
	b := workbench(t, true)
	stops := 0
	for name, id := range b.cases {
		j, err := b.path.Check(t.Context(), b.who["Corvan Eskerling"], id)
		if err != nil {
			t.Fatal(err)
		}
		stop := false
		for _, f := range j.Findings {
			stop = stop || f.Severity.String() == "stop"
		}
		if !stop {
			continue
		}
		stops++
		b.see("/case/"+id, laptop)
		if !ask[bool](b.browser, `document.querySelector(".stop-line").innerText.includes("STOP")`) {
			t.Errorf("%s: no STOP at the top", name)
		}
		b.signDisabled(name)
		status := ask[int](b.browser, `fetch(location.pathname + "/sign", {method: "POST", body: new URLSearchParams({revision: document.getElementById("revision").value, alone: "no second person tonight"})}).then(r => r.status)`)
		if status != 422 {
			t.Errorf("%s: signing past the page gives %d", name, status)
		}
	}
	if stops != 1 { // the eye with gas; no lens, oil, a child and laser have methods of their own
		t.Errorf("%d eyes of the demo have a STOP, want 1", stops)
	}
}
