package web

import (
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"linn/internal/pathway"
	"linn/unit"
)

// lensAtHand is a signed eye of the demo on the day of its list.
func (h *house) lensAtHand() (code string, row pathway.WardRow) {
	h.t.Helper()
	_, rows, err := h.path.Ward(h.t.Context(), pathway.Actor{ID: h.first}, pathway.WardQuery{State: pathway.StateSigned})
	h.must(err)
	row = rows[0]
	h.now = time.Date(row.List.Date.Year, time.Month(row.List.Date.Month), row.List.Date.Day, 8, 0, 0, 0, h.now.Location())
	return "linn:" + sheetNumber(row.Sheet), row
}

const boxCode = "0105060917510011" + "17991231" + "10A1B2C3" + "\x1d" + "21SN00042"

// hold answers every question of the page as two people would.
func (v *visitor) hold(code, box, power string, more ...string) *httptest.ResponseRecorder {
	pairs := []string{"code", code, "box", box, "first", v.who["Haldis Marrowick"], "first_power", power, "first_cylinder", "0",
		"second", v.who["Corvan Eskerling"], "second_power", power, "second_cylinder", "0"}
	return v.post("/theatre/lens", append(pairs, more...)...)
}

// The lens in hand, question by question, and the published causes of wrong
// lenses (Kelly and Jalil 2011, Steeples 2016) that can be met at this page.
func TestLensInHand(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Haldis Marrowick")
	code, row := h.lensAtHand()
	box := strings.Replace(boxCode, "17991231", "17"+time.Now().AddDate(20, 0, 0).Format("06")+"1231", 1)
	power := unit.Signed(float64(row.Power.Value), 2)
	hidden := func(page *httptest.ResponseRecorder) {
		t.Helper()
		body := regexp.MustCompile(`(?s)<option.*?</option>`).ReplaceAllString(page.Body.String(), "")
		if strings.Contains(body, unit.Fixed(float64(row.Power.Value), 2)) || strings.Contains(body, unit.Fixed(float64(row.Power.Value), 1)+"\u202f") {
			t.Error("the planned power shows before two people have read the box")
		}
	}
	h.says("begin", v.get("/theatre"), 200, "Scan the sheet, or the wristband, before the box")
	w := v.post("/theatre/lens", "code", code)
	h.says("whose", w, 200, row.Who.Name, row.Who.Identifier, strings.ToUpper(string(row.Side))+" EYE", "Code on the box")
	hidden(w)
	if got := w.Header().Get("Refresh"); got != "600; url=/theatre" {
		t.Errorf("idle: %q", got)
	}
	w = v.post("/theatre/lens", "code", code, "box", box)
	h.says("first reader", w, 200, "First reader", "Lot: A1B2C3", "Serial: SN00042")
	hidden(w)
	w = v.post("/theatre/lens", "code", code, "box", box, "model", row.Model, "first", h.who["Haldis Marrowick"], "first_power", "30.5", "first_cylinder", "0")
	h.says("second reader", w, 200, "Second reader", `name="first_power" value="30.5"`)
	hidden(w)
	w = v.post("/theatre/lens", "code", code, "box", strings.ReplaceAll(box, "\x1d", ""))
	h.says("separator swallowed", w, 200, "Which of these is printed on the box", "lot A1B2C3 · serial SN00042", "lot A1B2C321SN00042")

	old := strings.Replace(box, box[16:24], "17"+"200101", 1)
	digits := []byte(unit.Fixed(float64(row.Power.Value), 1))
	slices.Reverse(digits[:2])
	for _, c := range []struct {
		cause string
		page  *httptest.ResponseRecorder
		code  int
		says  string
	}{
		{"wrong patient on the table", v.post("/theatre/lens", "code", "H-9999"), 422, "is no sheet and no wristband of today"},
		{"sheet of another day", v.post("/theatre/lens", "code", "linn:99999"), 422, "STOP. Sheet 99999"},
		{"box misread", v.post("/theatre/lens", "code", code, "box", "0105060917510012"), 422, "check digit"},
		{"box cut short", v.post("/theatre/lens", "code", code, "box", box[:20]), 422, "cut short"},
		{"wrong box", v.hold(code, box, "+30.0", "model", row.Model), 200, "the box says &#43;30.00 D, the signed plan &#43;"},
		{"transposed digits", v.hold(code, box, "+"+string(digits), "model", row.Model), 200, "STOP"},
		{"plus and minus", v.hold(code, box, "-"+strings.TrimPrefix(power, "+"), "model", row.Model), 200, "plus and minus are exchanged"},
		{"expired", v.hold(code, old, power, "model", row.Model), 200, "the date of use was 2020-01-01"},
		{"wrong model", v.hold(code, box, power, "model", "Another"), 200, "the box says model Another"},
		{"toric box", v.post("/theatre/lens", "code", code, "box", box, "model", row.Model, "first", h.who["Haldis Marrowick"], "first_power", power, "first_cylinder", "1.5",
			"second", h.who["Corvan Eskerling"], "second_power", power, "second_cylinder", "1.5"), 200, "cylinder 1.50"},
	} {
		h.says(c.cause, c.page, c.code, c.says)
		if c.code == 200 && (!strings.Contains(c.page.Body.String(), ">Begin again with the sheet<") || strings.Contains(c.page.Body.String(), "AGREES")) {
			t.Errorf("%s: no stop, or a way round it", c.cause)
		}
	}
	h.says("agrees", v.hold(code, box, power, "model", row.Model), 200, "AGREES", row.Who.Name, strings.ToUpper(string(row.Side))+" EYE", "now read both aloud", strings.Replace(power, "+", "&#43;", 1), `data-sound="agrees"`)
	h.says("in the record", v.get("/case/"+row.Case+"/operation"), 200, `value="SN00042"`, row.Model)
}
