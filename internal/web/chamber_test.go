package web

import (
	"html"
	"net/http/httptest"
	"strings"
	"testing"
)

// The Chamber stage of an eye: typed settings are kept and printed; what is
// refused stays in the form; a measured machine brings a comparison headed as
// its own model, and only what was typed reaches the sheet.
func TestChamberStage(t *testing.T) {
	h := newHouse(t, true)
	id := h.cases["Brennor Tidewell"]
	v := h.as("Corvan Eskerling")
	at := "/case/" + id
	send := func(vacuum, machine string) *httptest.ResponseRecorder {
		return v.change(id, "phases", "machine", machine, "segment-removal.bottle_cm", "95", "segment-removal.flow_ml_min", "30", "segment-removal.vacuum_limit_mmhg", vacuum)
	}
	if w := send("3500", ""); w.Code != 422 || !strings.Contains(w.Body.String(), `value="3500"`) {
		t.Errorf("a refused setting: %d", w.Code)
	}
	if w := send("350", ""); w.Code != 303 {
		t.Fatal(w.Code, w.Body)
	}
	body := v.get(at).Body.String()
	if !strings.Contains(body, `value="350"`) || !strings.Contains(body, "needs a machine that was measured on site") || strings.Contains(body, "in the model of your machine") {
		t.Error("without a measured machine the stage does not say so, or compares")
	}
	machine := []string{"name", "Theatre 2", "tip_gauge", "20", "incision_mm", "2.2"}
	if w := v.post("/shelf/machine", machine...); w.Code != 422 || !strings.Contains(w.Body.String(), "no measurement") {
		t.Errorf("a machine without measurements: %d", w.Code)
	}
	for key, text := range map[string]string{"head.0.true_cm": "96", "head.0.displayed_cm": "90",
		"free_flow.0.head_cm": "60", "free_flow.0.volume_ml": "80", "free_flow.0.time_s": "70", "free_flow.1.head_cm": "90", "free_flow.1.volume_ml": "110", "free_flow.1.time_s": "69",
		"rise.0.flow_ml_min": "20", "rise.0.vacuum_limit_mmhg": "400", "rise.0.t50_s": "0.18", "rise.0.t90_s": "0.33",
		"rise.1.flow_ml_min": "40", "rise.1.vacuum_limit_mmhg": "400", "rise.1.t50_s": "0.09", "rise.1.t90_s": "0.165"} {
		machine = append(machine, key, text)
	}
	if w := v.post("/shelf/machine", machine...); w.Code != 303 {
		t.Fatal(w.Code, w.Body)
	}
	shelf := html.UnescapeString(v.get("/shelf").Body.String())
	if !strings.Contains(shelf, "Theatre 2") || !strings.Contains(shelf, "are the machine’s own") {
		t.Error("the Shelf does not show the machine with its fit")
	}
	_, after, _ := strings.Cut(v.get(at).Body.String(), `name="machine"`)
	_, after, _ = strings.Cut(after, `none, or not measured</option><option value="`)
	key, _, _ := strings.Cut(after, `"`)
	if w := send("350", key); w.Code != 303 {
		t.Fatal(w.Code, w.Body)
	}
	body = html.UnescapeString(v.get(at).Body.String())
	for _, want := range []string{"Segment removal, in the model of your machine", "The single change that steadies most", "where the chamber stays formed"} {
		if !strings.Contains(body, want) {
			t.Errorf("the stage does not say %q", want)
		}
	}
	sheet := html.UnescapeString(v.get(at + "/sheet").Body.String())
	if !strings.Contains(sheet, "bottle 95\u202fcm · flow 30\u202fmL/min · vacuum 350\u202fmmHg") || strings.Contains(sheet, "µL") || strings.Contains(sheet, "collapse") {
		t.Error("the sheet does not print what was typed, or prints the model")
	}
}
