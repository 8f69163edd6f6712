package web

import (
	"html"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"linn/internal/pathway"
)

// accounts is a ward with accounts: its administrator, signed in, and a nurse.
func accounts(t *testing.T) (h *house, admin, nurse *visitor) {
	t.Helper()
	h = newHouse(t, false)
	admin, nurse = h.visitor(), h.visitor()
	h.says("begin", admin.post("/start", "name", "Fen Marsh", "password", "three words here"), http.StatusSeeOther)
	w := admin.post("/desk/person", "name", "Ama Reed", "role", "nurse")
	h.says("invited", w, 200, "For Ama Reed", "It works once", "shown here only now")
	link := regexp.MustCompile(`/invitation/[0-9a-f]{32}`).FindString(w.Body.String())
	if link == "" {
		t.Fatal("no link")
	}
	h.says("whom", nurse.get(link), 200, "Welcome, Ama Reed")
	h.says("twice otherwise", nurse.post(link, "new", "other words here", "again", "other words"), http.StatusUnprocessableEntity, "two different ways")
	h.says("short", nurse.post(link, "new", "short", "again", "short"), http.StatusUnprocessableEntity, "at least 10")
	h.says("accepted", nurse.post(link, "new", "other words here", "again", "other words here"), http.StatusSeeOther)
	h.says("in", nurse.get("/ward"), 200, "Ama Reed, nurse")
	h.says("once", h.visitor().get(link), http.StatusNotFound)
	h.says("once", h.visitor().post(link, "new", "third words here", "again", "third words here"), http.StatusNotFound)
	return h, admin, nurse
}

// A lost password: another link, which signs the old sessions out.
func TestResetThroughThePages(t *testing.T) {
	h, admin, nurse := accounts(t)
	m := regexp.MustCompile(`/desk/person/([0-9a-f-]+)/invite"><input type="hidden" name="revision" value="(\d+)"`).FindAllStringSubmatch(admin.get("/desk").Body.String(), -1)
	if len(m) != 2 {
		t.Fatalf("%d people can be invited", len(m))
	}
	id, revision := m[0][1], m[0][2] // Ama before Fen
	w := admin.post("/desk/person/"+id+"/invite", "revision", revision)
	link := regexp.MustCompile(`/invitation/[0-9a-f]{32}`).FindString(w.Body.String())
	h.says("the old password holds until then", nurse.get("/ward"), 200, "Ama Reed")
	fresh := h.visitor()
	h.says("reset", fresh.post(link, "new", "third words here", "again", "third words here"), http.StatusSeeOther)
	if w := nurse.get("/ward"); w.Header().Get("Location") != "/sign-in" {
		t.Errorf("the old session is still in: %d", w.Code)
	}
	h.says("old password", h.visitor().post("/sign-in", "name", "Ama Reed", "password", "other words here"), http.StatusUnauthorized)
	h.says("a nurse invites nobody", fresh.post("/desk/person/"+id+"/invite", "revision", "1"), http.StatusForbidden)
}

// One's own password, short number and sessions.
func TestOwnAccount(t *testing.T) {
	h, _, nurse := accounts(t)
	phone := h.visitor()
	h.says("a second browser", phone.post("/sign-in", "name", "Ama Reed", "password", "other words here"), http.StatusSeeOther)
	h.says("both", nurse.get("/me"), 200, "Ama Reed, nurse", "this browser", "Sign out there")
	h.says("wrong", nurse.post("/me/password", "password", "guess", "new", "third words here", "again", "third words here"), http.StatusUnprocessableEntity, "not your password")
	h.says("typed twice", nurse.post("/me/password", "password", "other words here", "new", "third words here", "again", "third"), http.StatusUnprocessableEntity, "two different ways")
	h.says("easy", nurse.post("/me/pin", "password", "other words here", "pin", "1234"), http.StatusUnprocessableEntity, "too easy")
	h.says("not proved", nurse.post("/me/pin", "password", "guess", "pin", "7351"), http.StatusUnprocessableEntity, "not your password")
	old := nurse.cookies["linn"]
	h.says("changed", nurse.post("/me/password", "password", "other words here", "new", "third words here", "again", "third words here"), http.StatusSeeOther)
	h.says("still here", nurse.get("/me?done=password"), 200, "signed out everywhere else")
	if nurse.cookies["linn"] == old {
		t.Error("the session kept its token over a changed password")
	}
	if w := phone.get("/ward"); w.Header().Get("Location") != "/sign-in" {
		t.Errorf("the other browser is still in: %d", w.Code)
	}
	h.says("again", phone.post("/sign-in", "name", "Ama Reed", "password", "third words here"), http.StatusSeeOther)
	id := regexp.MustCompile(`name="session" value="([0-9a-f]+)"`).FindStringSubmatch(nurse.get("/me").Body.String())
	h.says("ended", nurse.post("/me/session", "session", id[1]), http.StatusSeeOther)
	if w := phone.get("/ward"); w.Header().Get("Location") != "/sign-in" {
		t.Errorf("an ended session is still in: %d", w.Code)
	}
	h.says("everywhere", nurse.post("/me/everywhere"), http.StatusSeeOther)
	if w := nurse.get("/ward"); w.Header().Get("Location") != "/sign-in" {
		t.Errorf("after signing out everywhere: %d", w.Code)
	}
	h.says("nonsense", h.visitor().get("/me?done=<script>"), http.StatusSeeOther)
}

// A quiet session is covered: nothing is shown or stored, what is sent is kept,
// and it goes on with the short number.
func TestLockThroughThePages(t *testing.T) {
	h, _, nurse := accounts(t)
	id := nurse.ordinaryEye()
	h.says("number", nurse.post("/me/pin", "password", "other words here", "pin", "7351"), http.StatusSeeOther)
	own, fellow := nurse.revision(id)
	h.now = h.now.Add(11 * time.Minute)
	w := nurse.post("/case/"+id+"/readings", "revision", own, "fellow", fellow, "right.acd_mm", "3.21")
	h.says("covered", w, http.StatusLocked, "Ama Reed is signed in here", `name="right.acd_mm" value="3.21"`, "is kept")
	if body := w.Body.String(); strings.Contains(body, "Sorrel") || strings.Contains(body, "23.41") {
		t.Error("the covered page shows a patient")
	}
	for _, path := range []string{"/ward", "/desk", "/case/" + id, "/case/" + id + "/sheet.pdf", "/me"} {
		if w := nurse.get(path); w.Code != http.StatusLocked || strings.Contains(w.Body.String(), "Brindlewick") {
			t.Errorf("%s while locked: %d", path, w.Code)
		}
	}
	if got := h.stored(id, "acd_mm"); got != "3.12" {
		t.Errorf("stored while locked: %s", got)
	}
	h.says("wrong", nurse.post("/unlock", "secret", "7352", "again-action", "/case/"+id+"/readings", "right.acd_mm", "3.21", "revision", own), http.StatusLocked, "does not fit", `value="3.21"`)
	w = nurse.post("/unlock", "secret", "7351", "again-action", "/case/"+id+"/readings", "right.acd_mm", "3.21", "revision", own, "fellow", fellow, "back", "/case/"+id)
	h.says("open", w, 200, "not stored yet", "/case/"+id+"/readings", `name="right.acd_mm" value="3.21"`)
	if strings.Contains(w.Body.String(), "7351") {
		t.Error("the page carries the short number on")
	}
	h.says("sent on", nurse.post("/case/"+id+"/readings", "revision", own, "fellow", fellow, "right.acd_mm", "3.21"), http.StatusSeeOther)
	if got := h.stored(id, "acd_mm"); got != "3.21" {
		t.Errorf("stored: %s", got)
	}
	h.says("at once", nurse.post("/lock", "back", "/case/"+id), http.StatusSeeOther)
	h.says("covered", nurse.get("/case/"+id), http.StatusLocked)
	for range 3 {
		h.says("wrong", nurse.post("/unlock", "secret", "1212"), http.StatusLocked, "does not fit")
	}
	h.says("used up", nurse.post("/unlock", "secret", "7351"), http.StatusLocked, "Only the password")
	h.says("another site's address", nurse.post("/unlock", "secret", "other words here", "again-action", "https://evil.example/x", "back", "//evil.example"), http.StatusSeeOther)
	if w := nurse.get("/ward"); w.Code != 200 {
		t.Errorf("after the password: %d", w.Code)
	}
	h.now = h.now.Add(11 * time.Minute)
	nurse.headers["HX-Request"] = "true"
	w = nurse.post("/case/"+id+"/readings", "revision", own)
	if w.Code != http.StatusLocked || w.Header().Get("HX-Trigger") != "linn-locked" {
		t.Errorf("part of a page: %d %q", w.Code, w.Header().Get("HX-Trigger"))
	}
}

func (h *house) stored(id, key string) string {
	h.t.Helper()
	return h.textAs("Ama Reed", id, key)
}

func (h *house) textAs(name, id, key string) string {
	h.t.Helper()
	found, ok, err := h.path.AccountByName(h.t.Context(), name)
	h.must(err)
	if !ok {
		h.t.Fatal("nobody is called " + name)
	}
	j, err := h.path.Check(h.t.Context(), pathway.Actor{ID: found.ID}, id)
	h.must(err)
	return j.Eyes[j.Side].Texts[key]
}

// Broken glass through the pages: offered, loud, reviewed by somebody else.
func TestGlassThroughThePages(t *testing.T) {
	h := newHouse(t, true)
	admin, auditor := h.as("Ineva Rookhaven"), h.as("Tormund Larkness")
	id := h.cases["Brennor Tidewell"]
	h.says("forbidden", admin.get("/case/"+id), http.StatusForbidden, "break the glass", "/case/"+id+"/glass")
	h.says("why", admin.get("/case/"+id+"/glass"), 200, "For one hour")
	h.says("short", admin.post("/case/"+id+"/glass", "reason", "now"), http.StatusUnprocessableEntity, "at least 8 letters")
	h.says("broken", admin.post("/case/"+id+"/glass", "reason", "bleeding, nobody else here"), http.StatusSeeOther)
	h.says("seen", admin.get("/case/"+id), 200, "Brennor Tidewell", "Seen through broken glass")
	h.says("not another", admin.get("/case/"+h.cases["Celindra Kelpstone"]), http.StatusForbidden)
	h.says("desk", auditor.get("/desk"), 200, "Broken glass waits for review: 1")
	page := auditor.get("/desk/glass")
	h.says("list", page, 200, "Ineva Rookhaven", "bleeding, nobody else here")
	h.says("own", admin.get("/desk/glass"), 200, "somebody else reviews it")
	h.says("own", admin.post("/desk/glass/"+h.who["Ineva Rookhaven"], "n", "1", "note", "fine"), http.StatusUnprocessableEntity, "nobody reviews their own")
	h.says("reviewed", auditor.post("/desk/glass/"+h.who["Ineva Rookhaven"], "n", "1", "note", "justified"), http.StatusSeeOther)
	h.says("done", auditor.get("/desk/glass"), 200, "Reviewed by Tormund Larkness: justified")
	identifier := regexp.MustCompile(`<span class="id">([^<]+)</span>`).FindStringSubmatch(admin.get("/case/" + id).Body.String())[1]
	log := auditor.get("/desk/log?identifier=" + html.UnescapeString(identifier))
	h.says("log of the patient", log, 200, "BROKE THE GLASS", "THROUGH BROKEN GLASS: an eye", `class="loud"`, `value="`+identifier+`"`)
	if strings.Contains(log.Body.String(), h.cases["Celindra Kelpstone"]) {
		t.Error("the log of one patient shows another")
	}
	h.says("nobody", auditor.get("/desk/log?identifier=H-no"), 200, "Nobody in this ward", "No line fits")
	h.now = h.now.Add(61 * time.Minute)
	admin = h.as("Ineva Rookhaven")
	h.says("after an hour", admin.get("/case/"+id), http.StatusForbidden)
}
