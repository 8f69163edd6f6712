package browsertest

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"linn/internal/pathway"
)

// The day pack, opened from the disk without any server: the list, as of when,
// and a lens check that confirms nothing without the paper.
func TestDayPackFromDisk(t *testing.T) {
	b := workbench(t, true)
	b.see("/ward", laptop)
	b.be("Haldis Marrowick")
	_, rows, err := b.path.Ward(t.Context(), b.who["Haldis Marrowick"], pathway.WardQuery{State: pathway.StateSigned})
	if err != nil || len(rows) == 0 {
		t.Fatal("no signed plan", err)
	}
	eye, day := rows[0], rows[0].List.Date.String()
	number := fmt.Sprintf("%05d", eye.Sheet)
	b.see("/list/"+day, laptop)
	code := ask[string](b.browser, `document.getElementById("code").value`)
	text := ask[string](b.browser, `fetch("/list/`+day+`/pack", {method: "POST", body: new URLSearchParams({code: "`+code+`"})}).then(r => r.text())`)
	file := filepath.Join(t.TempDir(), "pack.html")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.EmulateViewport(390, 844), chromedp.Navigate("file://"+file))
	enter := func(id, text string) {
		t.Helper()
		ask[bool](b.browser, `(document.getElementById("`+id+`").value = "", true)`)
		b.do(chromedp.Focus(chromedp.CSS("#" + id)))
		b.press(text)
	}
	enter("code", "0000-0000-0000-0000")
	b.press(kb.Enter)
	b.until("a wrong code is said", `document.getElementById("says").textContent.includes("does not open")`)
	enter("code", strings.ToLower(strings.ReplaceAll(code, "-", " ")))
	b.press(kb.Enter)
	b.until("the list is open", `!!document.getElementById("check")`)
	page := ask[string](b.browser, `document.body.innerText`)
	for _, want := range []string{"As of 09:30", eye.Who.Name, eye.Side.Words(), "no signed plan in force"} {
		if !strings.Contains(page, want) {
			t.Errorf("the pack does not say %q", want)
		}
	}
	power := strings.Fields(eye.Power.Value.String())[0]
	power = strings.TrimSuffix(power, "\u202fD")
	if strings.Contains(page, power) {
		t.Error("the planned power is shown before the box was read")
	}
	good := map[string]string{"number": number, "identifier": strings.ToLower(eye.Who.Identifier), "paper": power, "model": eye.Model, "first": power, "second": strings.Replace(strings.TrimPrefix(power, "+"), ".", ",", 1)}
	for _, row := range []struct{ id, text, says string }{
		{"", "", "agree with signed sheet " + number + " as of 09:30"},
		{"number", "09999", "not confirmed in this pack"},
		{"number", "", "not confirmed in this pack"},
		{"identifier", "H-0000", "not the one of this sheet"},
		{"paper", "", "Without the paper nothing is confirmed"},
		{"paper", "+9.00", "Paper and pack differ"},
		{"model", "Another 1", "another model"},
		{"first", "+9.00", "two people read different"},
		{"second", "x", "A power is missing"},
	} {
		for id, text := range good {
			if id == row.id {
				text = row.text
			}
			if enter(id, text); text == "" {
				ask[bool](b.browser, `(document.getElementById("`+id+`").dispatchEvent(new Event("input", {bubbles: true})), true)`)
			}
		}
		ask[bool](b.browser, `(document.querySelector("#check button").click(), true)`)
		said := ask[string](b.browser, `document.getElementById("answer").innerText`)
		stop := ask[bool](b.browser, `document.getElementById("answer").classList.contains("stop")`)
		if !strings.Contains(said, row.says) || stop != (row.id != "") || stop != strings.Contains(said, "STOP") {
			t.Errorf("%s %q: %q", row.id, row.text, said)
		}
		if row.id == "" {
			b.picture("day-pack-phone")
			if h := ask[float64](b.browser, `document.querySelector(".power").getBoundingClientRect().height`); h < 25*96/25.4 {
				t.Errorf("the power is %g px high", h)
			}
			for _, v := range b.axe() {
				t.Errorf("%s: %s %v", v.ID, v.Help, v.Nodes)
			}
		}
	}
	if n := ask[int](b.browser, `performance.getEntriesByType("resource").filter(r => !r.name.startsWith("data:")).length`); n != 0 {
		t.Errorf("the pack asked for %d files", n)
	}
}
