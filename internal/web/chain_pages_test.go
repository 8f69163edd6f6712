package web

import (
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"linn/internal/care/casebook"
	"linn/internal/pathway"
)

// What was corrected is corrected with a reason, and both states stand side by
// side.
func TestCorrectionAndHistory(t *testing.T) {
	h := newHouse(t, true)
	nurse := h.as("Haldis Marrowick")
	id := nurse.ordinaryEye()
	nurse.says("form", nurse.get("/case/"+id+"/correct"), 200, "RIGHT EYE", `value="23.41"`, "Reason for the correction")
	nurse.says("no reason", nurse.change(id, "correct", "right.axial_length_mm", "23.14"), http.StatusUnprocessableEntity, `value="23.14"`)
	nurse.says("named", nurse.change(id, "correct", "right.axial_length_mm", "23.14", "reason", "Sorrel Brindlewick moved"), http.StatusUnprocessableEntity)
	nurse.says("corrected", nurse.change(id, "correct", "right.axial_length_mm", "23.14", "reason", "the printout says so"), http.StatusSeeOther)
	own, _ := nurse.revision(id)
	n := number(own)
	page := nurse.get("/case/" + id + "/history?older=" + itoa(n-1) + "&newer=" + itoa(n))
	nurse.says("history", page, 200, "Sorrel Brindlewick", "RIGHT EYE", "axial length", ">23.41<", ">23.14<", "the printout says so", "corrected")
	nurse.says("no such revision", nurse.get("/case/"+id+"/history?older=1&newer=900"), http.StatusUnprocessableEntity)
	nurse.says("nonsense", nurse.get("/case/"+id+"/history?older=x&newer=%00"), 200)
	nurse.says("the same", nurse.get("/case/"+id+"/history?older=2&newer=2"), 200, "Nothing that is stored differs")
	nurse.says("person", nurse.get("/case/"+id+"/person"), 200)
	patient := regexp.MustCompile(`/patient/([0-9a-f-]{36})/history`).FindStringSubmatch(page.Body.String())
	if patient == nil {
		t.Fatal("no way to the person's history")
	}
	w := nurse.get("/case/" + id + "/person")
	rev := regexp.MustCompile(`name="revision" value="(\d+)"`).FindStringSubmatch(w.Body.String())[1]
	nurse.says("person corrected", nurse.post("/case/"+id+"/person", "revision", rev, "name", "Sorrel Brindlewyck", "identifier", "H-0999", "sex", "female", "born", "1957-04-11", "no-allergies", "yes", "reason", "passport seen"), http.StatusSeeOther)
	nurse.says("person's history", nurse.get("/patient/"+patient[1]+"/history?older=1&newer=2"), 200, ">Sorrel Brindlewick<", ">Sorrel Brindlewyck<", "passport seen")
}

func itoa(n int) string { return strconv.Itoa(n) }

// A correction of a signed plan takes it out of force.
func TestCorrectionOfASignedPlan(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Corvan Eskerling")
	id := ""
	_, rows, err := h.path.Ward(t.Context(), pathway.Actor{ID: h.first}, pathway.WardQuery{State: pathway.StateSigned})
	h.must(err)
	for _, r := range rows {
		id = r.Case
	}
	v.says("says so", v.get("/case/"+id+"/correct"), 200, "This plan is signed")
	v.says("corrected", v.change(id, "correct", "right.acd_mm", "3.21", "left.acd_mm", "3.21", "reason", "typed from another line"), http.StatusSeeOther)
	v.says("reopened", v.get("/case/"+id), 200, "Signed once and reopened")
	v.says("sheet", v.get("/case/"+id+"/sheet"), 200, "NOT SIGNED")
}

// Readings of another person go where they belong, and their first place
// shows them in no revision.
func TestWrongPatientMove(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Haldis Marrowick")
	from := v.ordinaryEye()
	to := v.newEye("name", "Wenna Calderock", "identifier", "H-0998", "side", "right", "born", "61", "no-allergies", "yes")
	v.says("nobody", v.get("/case/"+from+"/move?find=H-7"), 200, "Nobody in this ward")
	page := v.get("/case/" + from + "/move?find=h-0998")
	v.says("found", page, 200, "Sorrel Brindlewick", "Wenna Calderock", "H-0998", "RIGHT EYE, open", "23.41")
	target := regexp.MustCompile(`<option value="(` + to + ` \d+)"`).FindStringSubmatch(page.Body.String())
	if target == nil {
		t.Fatal("the right eye is not offered")
	}
	form := []string{"find", "H-0998", "to", target[1], "field", "axial_length_mm", "field", "k_flat_d", "reason", "printout of the next patient"}
	v.says("not confirmed", v.change(from, "move", append(form, "typed", "H-0999")...), http.StatusUnprocessableEntity, "look again whether it is the right person", "checked")
	if got := h.text(to, "axial_length_mm"); got != "" {
		t.Errorf("moved without confirmation: %q", got)
	}
	v.says("moved", v.change(from, "move", append(form, "typed", " h-0998 ")...), http.StatusSeeOther)
	if got := h.text(to, "axial_length_mm"); got != "23.41" {
		t.Errorf("the right eye holds %q", got)
	}
	if got := h.text(from, "axial_length_mm"); got != "" {
		t.Errorf("the wrong eye still holds %q", got)
	}
	own, _ := v.revision(from)
	for n := 1; n <= number(own); n++ {
		if body := v.get("/case/" + from + "/history?older=1&newer=" + itoa(n)).Body.String(); strings.Contains(body, ">23.41<") {
			t.Errorf("revision %d still shows the other's reading", n)
		}
	}
	v.says("onto what stands", v.change(from, "move", append(form, "typed", "H-0998")...), http.StatusUnprocessableEntity)
}

// text is what stands in a field of the case's own eye.
func (h *house) text(id, key string) string {
	h.t.Helper()
	j, err := h.path.Check(h.t.Context(), pathway.Actor{ID: h.who["Corvan Eskerling"]}, id)
	h.must(err)
	return j.Eyes[j.Side].Texts[key]
}

// Two records of one person are made one by two people, never by one.
func TestMergeThroughThePages(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Haldis Marrowick")
	twice := v.newEye("name", "Sorrel Brindlewick", "identifier", "TMP-7", "side", "left", "born", "68", "no-allergies", "yes")
	v.ordinaryEye()
	v.says("look", v.get("/desk/merge?identifier=TMP-7&into=H-0999"), 200, "TMP-7", "H-0999", "LEFT EYE, open", "There is no way to part them again")
	form := []string{"identifier", "TMP-7", "into", "H-0999", "reason", "same passport", "typed", "TMP-7"}
	v.says("alone", v.post("/desk/merge", append(form, "who", "")...), http.StatusUnprocessableEntity)
	v.says("myself", v.post("/desk/merge", append(form, "who", "Haldis Marrowick")...), http.StatusUnprocessableEntity)
	v.says("who may not", v.post("/desk/merge", append(form, "who", "Liruna Saltmarsh")...), http.StatusForbidden)
	v.says("typed otherwise", v.post("/desk/merge", "identifier", "TMP-7", "into", "H-0999", "reason", "same passport", "typed", "H-0999", "who", "Corvan Eskerling"), http.StatusUnprocessableEntity, "look again")
	v.says("done", v.post("/desk/merge", append(form, "who", "Corvan Eskerling")...), http.StatusSeeOther)
	v.says("the eye", v.get("/case/"+twice), 200, "H-0999")
	v.says("its history", v.get("/desk/merge?identifier=TMP-7&into=H-0999"), 200, "Nobody in this ward")
}

// A lawful erasure needs two names and the identifier typed; then nobody can
// read who it was, the merged record neither, and the record verifies.
func TestEraseThroughThePages(t *testing.T) {
	h := newHouse(t, true)
	nurse, v := h.as("Haldis Marrowick"), h.as("Ineva Rookhaven")
	nurse.newEye("name", "Sorrel Brindlewick", "identifier", "TMP-7", "side", "left", "born", "68", "no-allergies", "yes")
	id := nurse.ordinaryEye()
	patient := regexp.MustCompile(`/patient/([0-9a-f-]{36})/history`).FindStringSubmatch(nurse.get("/case/" + id + "/history").Body.String())[1]
	nurse.says("merged", nurse.post("/desk/merge", "identifier", "TMP-7", "into", "H-0999", "reason", "same passport", "typed", "TMP-7", "who", "Corvan Eskerling"), http.StatusSeeOther)
	v.says("look", v.get("/desk/erase?identifier=H-0999"), 200, "Sorrel Brindlewick", "cannot be undone", "Backups", "turned out to be this person: 1")
	form := []string{"identifier", "H-0999", "reason", "order 12 of the court"}
	v.says("alone", v.post("/desk/erase", append(form, "typed", "H-0999")...), http.StatusUnprocessableEntity)
	v.says("not typed", v.post("/desk/erase", append(form, "who", "Corvan Eskerling")...), http.StatusUnprocessableEntity)
	v.says("a nurse as second", v.post("/desk/erase", append(form, "typed", "H-0999", "who", "Haldis Marrowick")...), http.StatusForbidden)
	v.says("erased", v.post("/desk/erase", append(form, "typed", "H-0999", "who", "Corvan Eskerling")...), 200, "The key is destroyed")
	nurse.says("gone", nurse.get("/case/"+id), 200, "erased by lawful order")
	if body := nurse.get("/ward").Body.String(); strings.Contains(body, id) {
		t.Error("the Ward still lists the eye")
	}
	nurse.says("what is left", nurse.get("/patient/"+patient+"/history?older=1&newer=2"), 200, "erased by lawful order", "Ineva Rookhaven with Corvan Eskerling", "order 12 of the court")
	if body := nurse.get("/patient/" + patient + "/history?older=1&newer=2").Body.String(); strings.Contains(body, "Brindlewick") || strings.Contains(body, "H-0999") {
		t.Error("the history still says who it was")
	}
	rows := h.patients()
	if erased := len(rows); erased != 2 {
		t.Errorf("%d keys were destroyed, want 2: the record and the one merged into it", erased)
	}
	v.says("verifies", v.post("/desk/verify"), 200, "Every link holds", "signed plans computed again")
}

// patients lists the erased records.
func (h *house) patients() (erased []string) {
	h.t.Helper()
	h.must(h.path.Store.View(h.t.Context(), func(tx casebook.Tx) error {
		rows, err := tx.Patients()
		for _, r := range rows {
			if r.Erased {
				erased = append(erased, r.Patient)
			}
		}
		return err
	}))
	return erased
}
