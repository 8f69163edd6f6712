package browsertest

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"linn/internal/pathway"
)

// A page that is covered hides everything but whose eye it is, by its script
// and by the program; a short number opens it where it was, with what was
// typed.
func TestPageCoversItself(t *testing.T) {
	b := workbench(t, false)
	if _, err := b.path.FirstPerson(t.Context(), pathway.NewPerson{Name: "Fen Marsh", Password: "three words here"}); err != nil {
		t.Fatal(err)
	}
	admin, _, err := b.path.AccountByName(t.Context(), "Fen Marsh")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.path.AddPerson(t.Context(), admin.Actor, pathway.NewPerson{Name: "Ama Reed", Role: "nurse", Password: "other words here"}); err != nil {
		t.Fatal(err)
	}
	nurse, _, err := b.path.AccountByName(t.Context(), "Ama Reed")
	if err != nil {
		t.Fatal(err)
	}
	b.who["Corvan Eskerling"] = nurse.Actor // who reads the record for this test
	id, err := b.path.Admit(t.Context(), nurse.Actor, pathway.Admission{NewPatient: pathway.NewPatient{Name: "Sorrel Brindlewick", Identifier: "H-0999", Born: "68"}, Side: "right"})
	if err != nil {
		t.Fatal(err)
	}
	b.see("/sign-in", laptop)
	ask[bool](b.browser, `(document.getElementById("name").value = "Ama Reed", document.getElementById("password").value = "other words here", document.querySelector("main form button").click(), true)`)
	b.until("the nurse is in", `document.readyState === "complete" && !!document.querySelector(".me") && location.pathname === "/ward"`)
	b.see("/me", laptop)
	ask[bool](b.browser, `(document.getElementById("pin").value = "7351", document.getElementById("pin-password").value = "other words here", document.getElementById("pin").form.querySelector("button").click(), true)`)
	b.until("the number is set", `document.readyState === "complete" && document.body.innerText.includes("short number of this browser is changed")`)
	b.see("/case/"+id, laptop)
	b.do(chromedp.Focus(chromedp.CSS("#right-axial_length_mm")))
	b.press("2341")
	ask[bool](b.browser, `(document.querySelector("form.lock-now button").click(), true)`)
	b.until("the page is covered", `document.getElementById("cover").open && document.documentElement.classList.contains("covered")`)
	if !ask[bool](b.browser, `getComputedStyle(document.querySelector("main")).visibility === "hidden" && getComputedStyle(document.querySelector(".identity .who")).visibility === "visible"`) {
		t.Error("the covered page shows its readings, or hides whose eye it is")
	}
	for _, v := range b.axe() {
		t.Errorf("%s: %s %v", v.ID, v.Help, v.Nodes)
	}
	b.shot("covered-laptop")
	if status := ask[int](b.browser, `fetch("/ward").then(r => r.status)`); status != 423 {
		t.Errorf("the program answers %d while covered", status)
	}
	b.press(kb.Escape)
	if !ask[bool](b.browser, `document.getElementById("cover").open`) {
		t.Error("Escape takes the cover off")
	}
	b.do(chromedp.Focus(chromedp.CSS("#cover-secret")))
	b.press("7352" + kb.Enter)
	b.until("the wrong number is said", `document.getElementById("cover-says").textContent.includes("does not fit")`)
	b.press("7351" + kb.Enter)
	b.until("the page is open again", `!document.getElementById("cover").open && !document.documentElement.classList.contains("covered")`)
	if got := b.value("right-axial_length_mm"); !strings.HasPrefix(got, "23") {
		t.Errorf("the field holds %q", got)
	}
	b.do(chromedp.Focus(chromedp.CSS("#right-k_flat_d")))
	b.press("4325" + kb.Tab)
	b.eventually(id, "right", "axial_length_mm", "23.41")
}
