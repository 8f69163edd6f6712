package web

import (
	"bytes"
	"crypto/aes"
	"crypto/cipher"
	"crypto/pbkdf2"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"html"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"linn/internal/care/casebook"
	"linn/internal/pathway"
)

// signedList is the day of a signed plan of the demo.
func (h *house) signedList() (day, name, sheet string) {
	h.t.Helper()
	_, rows, err := h.path.Ward(h.t.Context(), pathway.Actor{ID: h.first}, pathway.WardQuery{State: pathway.StateSigned})
	h.must(err)
	if len(rows) == 0 {
		h.t.Fatal("no plan is signed")
	}
	return rows[0].List.Date.String(), rows[0].Who.Name, sheetNumber(rows[0].Sheet)
}

// opened decrypts a day pack as its script does.
func opened(t *testing.T, page, code string) (c packContent, err error) {
	t.Helper()
	part := func(name string) []byte {
		m := regexp.MustCompile(`data-` + name + `="([^"]*)"`).FindStringSubmatch(page)
		if m == nil {
			t.Fatalf("the file has no %s", name)
		}
		b, err := base64.StdEncoding.DecodeString(html.UnescapeString(m[1]))
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	rounds, _ := strconv.Atoi(regexp.MustCompile(`data-rounds="(\d+)"`).FindStringSubmatch(page)[1])
	if rounds < 600_000 {
		t.Errorf("%d rounds", rounds)
	}
	key, err := pbkdf2.Key(sha256.New, strings.ReplaceAll(code, "-", ""), part("salt"), rounds, 32)
	if err != nil {
		t.Fatal(err)
	}
	block, _ := aes.NewCipher(key)
	gcm, _ := cipher.NewGCM(block)
	plain, err := gcm.Open(nil, part("iv"), part("box"), nil)
	if err == nil {
		err = json.Unmarshal(plain, &c)
	}
	return c, err
}

// A locked list leaves as a file that says nothing without its code, and the
// record says what left it.
func TestDayPack(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Haldis Marrowick")
	day, name, sheet := h.signedList()
	page := v.get("/list/" + day)
	h.says("the list", page, 200, name, "sheet "+sheet, "Without a signed plan in force")
	code := regexp.MustCompile(`name="code" value="([^"]+)"`).FindStringSubmatch(page.Body.String())[1]
	if !packCodeShape.MatchString(code) {
		t.Fatalf("code %q", code)
	}
	w := v.post("/list/"+day+"/pack", "code", code)
	file := w.Body.String()
	if w.Code != 200 || !strings.HasPrefix(w.Header().Get("Content-Disposition"), `attachment; filename="day-pack-`+day) {
		t.Fatalf("%d %q", w.Code, w.Header().Get("Content-Disposition"))
	}
	for _, never := range []string{name, "Tidewell", "H-0", code, "http://", "https://", "<script>", "<style"} {
		if strings.Contains(file, never) {
			t.Errorf("the file says %q", never)
		}
	}
	c, err := opened(t, file, code)
	h.must(err)
	numbered := 0
	for _, e := range c.Eyes {
		if (e.Number != "") != (e.Power != "") || e.Number != "" && e.Cents == 0 || e.Name == "" || !strings.HasSuffix(e.Side, " EYE") {
			t.Errorf("%+v", e)
		}
		if e.Number != "" {
			numbered++
		}
	}
	if numbered == 0 || numbered == len(c.Eyes) || !strings.Contains(string(must(json.Marshal(c))), `"Number":"`+sheet+`"`) || c.AsOf != "09:30" || c.Day != day {
		t.Errorf("%d eyes, %d with a sheet, as of %s", len(c.Eyes), numbered, c.AsOf)
	}
	if _, err := opened(t, file, "0000-0000-0000-0000"); err == nil {
		t.Error("another code opens it")
	}
	var locked casebook.List
	h.must(h.path.Store.View(t.Context(), func(tx casebook.Tx) error {
		var err error
		locked, _, err = casebook.Load[casebook.List](tx, day)
		return err
	}))
	if len(locked.Eyes) != len(c.Eyes) || locked.Verb != casebook.VerbLock {
		t.Errorf("the record holds %+v", locked)
	}
	h.says("no code", v.post("/list/"+day+"/pack", "code", "short"), http.StatusBadRequest)
	h.says("an empty day", v.post("/list/2026-03-29/pack", "code", code), http.StatusUnprocessableEntity, "no eye stands")
	h.says("an empty day", v.get("/list/2026-03-29"), 200, "No eye stands on this list")
	h.says("no day", v.get("/list/today"), http.StatusUnprocessableEntity)
	log := h.as("Tormund Larkness").get("/desk/log?person=" + h.who["Haldis Marrowick"])
	h.says("the log", log, 200, "took out of the record", "a list locked as day pack")
	h.says("the ward", v.get("/ward"), 200, `/list/`+day)
	if verified := h.as("Corvan Eskerling").post("/desk/verify"); !strings.Contains(verified.Body.String(), "Every link holds") {
		t.Error("the record does not verify")
	}
}

func must(b []byte, _ error) []byte { return b }

// The printed pack is the list and every sheet.
func TestPrintedPack(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Haldis Marrowick")
	day, _, _ := h.signedList()
	w := v.post("/list/" + day + "/print")
	if w.Code != 200 || !bytes.HasPrefix(w.Body.Bytes(), []byte("%PDF-")) {
		t.Fatalf("%d %s", w.Code, w.Header().Get("Content-Type"))
	}
	pages := bytes.Count(w.Body.Bytes(), []byte("/Type /Page\n"))
	d, err := h.path.DayList(t.Context(), pathway.Actor{ID: h.who["Haldis Marrowick"]}, day)
	h.must(err)
	want := 1
	for _, e := range d.Eyes {
		if e.Sheet != nil {
			want++
		}
	}
	if pages != want {
		t.Errorf("%d pages, want %d", pages, want)
	}
}
