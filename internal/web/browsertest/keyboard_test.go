package browsertest

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// until waits for a script to become true.
func (b *browser) until(what, script string) {
	b.t.Helper()
	for range 100 {
		if ask[bool](b, script) {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.t.Fatalf("it never came to be that %s", what)
}

func (b *browser) press(keys string, opts ...chromedp.KeyOption) {
	b.t.Helper()
	b.do(chromedp.KeyEvent(keys, opts...))
}

func (b *browser) focused() string {
	return ask[string](b, `document.activeElement.id || document.activeElement.tagName`)
}

func (b *browser) value(id string) string {
	return ask[string](b, `document.getElementById(`+"`"+id+"`"+`).value`)
}

// Digits alone get their decimal point where exactly one place fits the
// field's bounds; everything else stays as typed.
func TestDecimalPointIsPlaced(t *testing.T) {
	b := open(t)
	b.see("/gallery/eye-empty/case/c1", laptop)
	for _, row := range []struct{ field, typed, want string }{
		{"axial_length_mm", "2341", "23.41"},
		{"axial_length_mm", "234", "23.4"},
		{"axial_length_mm", "23", "23"},
		{"axial_length_mm", "23,41", "23,41"},
		{"axial_length_mm", "23.41", "23.41"},
		{"axial_length_mm", "23415", "23415"}, // three decimals: not a reading anyone prints
		{"axial_length_mm", "-2341", "-2341"},
		{"axial_length_mm", "9941", "9941"}, // no place fits
		{"k_flat_d", "4350", "43.50"},
		{"k_flat_d", "435", "43.5"},
		{"k_flat_d", "780", "780"}, // a radius: never made into a power
		{"k_flat_d", "7.80", "7.80"},
		{"acd_mm", "312", "3.12"},
		{"acd_mm", "31", "3.1"},
		{"lens_thickness_mm", "445", "4.45"},
		{"white_to_white_mm", "118", "11.8"},
		{"white_to_white_mm", "1180", "11.80"},
		{"white_to_white_mm", "95", "9.5"},
		{"keratometric_index", "13375", "1.3375"},
		{"corneal_thickness_um", "541", "541"},
		{"k_flat_axis_deg", "102", "102"},
		{"measured_on", "20260224", "2026-02-24"},
		{"measured_on", "2026-02", "2026-02"},
	} {
		id := "right-" + row.field
		ask[bool](b, `(document.getElementById("`+id+`").value = "", true)`)
		b.do(chromedp.Focus(chromedp.CSS("#" + id)))
		b.press(row.typed)
		if row.typed != row.want && !strings.Contains(row.field, "_on") {
			if shown := ask[string](b, `document.getElementById("`+id+`-placed").textContent`); shown != "= "+row.want {
				t.Errorf("%s %s: shown %q before leaving, want %q", row.field, row.typed, shown, "= "+row.want)
			}
		}
		if now := b.value(id); now != row.typed {
			t.Errorf("%s %s: changed to %q while typing", row.field, row.typed, now)
		}
		b.press(kb.Enter)
		if got := b.value(id); got != row.want {
			t.Errorf("%s %s: got %q, want %q", row.field, row.typed, got, row.want)
		}
		if other := b.value("left-" + row.field); other != "" {
			t.Errorf("%s: %q was copied to the other eye", row.field, other)
		}
	}
}

// A new eye is entered by keyboard alone, with at most 40 presses of Tab, and
// saves itself on the way.
func TestEnterByKeyboard(t *testing.T) {
	b := open(t)
	b.see("/gallery/eye-empty/case/c1", laptop)
	if got := b.focused(); got != "right-axial_length_mm" {
		t.Fatalf("the page begins at %s", got)
	}
	tabs := 0
	for _, text := range []string{"2341", "o", "", "4325", "12", "4400", "102", "13375", "312", "445", "1180", "541", "n", "n", "n", "20260224", "B1", "TB"} {
		if text != "" {
			b.press(text)
		}
		b.press(kb.Tab)
		tabs++
	}
	if tabs > 40 {
		t.Errorf("%d presses of Tab", tabs)
	}
	if got := b.focused(); got != "left-axial_length_mm" {
		t.Errorf("after the right eye comes %s", got)
	}
	b.until("the page says it is saved", `/^saved \d\d:\d\d, revision [1-9]/.test(document.getElementById("saved").textContent)`)
	b.until("the eye is drawn", `document.querySelector("#drawing .wide svg").textContent.includes("23.41")`)
	for id, want := range map[string]string{"right-axial_length_mm": "23.41", "right-axial_length_method": "optical", "right-k_steep_d": "44.00",
		"right-corneal_surgery": "none", "right-operator": "TB"} {
		if got := b.value(id); got != want {
			t.Errorf("%s is %q, want %q", id, got, want)
		}
	}
	for _, p := range b.heard() {
		t.Errorf("console: %s", p)
	}
}

// Enter moves to the next field and never sends a half-filled form away.
func TestEnterMovesOn(t *testing.T) {
	b := open(t)
	b.see("/gallery/eye-empty/case/c1", laptop)
	b.press("2341" + kb.Enter)
	if got := b.focused(); got != "right-axial_length_method" {
		t.Errorf("Enter led to %s", got)
	}
}

// A refused value is said beside its field, and stays as typed.
func TestRefusedValueStays(t *testing.T) {
	b := open(t)
	b.see("/gallery/eye-empty/case/c1", laptop)
	b.do(chromedp.Focus(chromedp.CSS("#right-k_flat_d")))
	b.press("7.80")
	b.do(chromedp.Focus(chromedp.CSS("#right-acd_mm")))
	b.until("the reason stands there", `document.getElementById("right-k_flat_d-msg").textContent.includes("radius")`)
	if got := b.value("right-k_flat_d"); got != "7.80" {
		t.Errorf("the field now holds %q", got)
	}
}

// Alt and a digit go along the stream, but not out of a field.
func TestAltGoesAlongTheStream(t *testing.T) {
	b := open(t)
	b.see("/gallery/eye-average/case/c1", laptop)
	ask[bool](b, `(document.activeElement.blur(), true)`)
	b.press("3", chromedp.KeyModifiers(chromedp.ModifierAlt))
	if got := b.focused(); got != "lens-h" {
		t.Errorf("Alt+3 led to %s", got)
	}
	if top := ask[float64](b, `document.getElementById("lens").getBoundingClientRect().top`); top < 0 || top > 200 {
		t.Errorf("the lens stage lies at %g px", top)
	}
	b.do(chromedp.Focus(chromedp.CSS("#target")))
	b.press("1", chromedp.KeyModifiers(chromedp.ModifierAlt))
	if got := b.focused(); got != "target" {
		t.Errorf("Alt+1 left the field for %s", got)
	}
}

// The working opens from the keyboard and closes with Escape.
func TestWorkingClosesWithEscape(t *testing.T) {
	b := open(t)
	b.see("/gallery/eye-average/case/c1", laptop)
	const open = `document.getElementById("working-srk-t").matches(":popover-open")`
	b.do(chromedp.Focus(chromedp.CSS("button[popovertarget=working-srk-t]")))
	b.press(kb.Enter)
	b.until("the working is open", open)
	for _, v := range b.axe() {
		t.Errorf("%s: %s %v", v.ID, v.Help, v.Nodes)
	}
	b.press(kb.Escape)
	b.until("the working is closed", "!"+open)
}

// The ward is filtered while typing, and the address holds the filter.
func TestWardFiltersWhileTyping(t *testing.T) {
	b := open(t)
	b.see("/gallery/ward/ward", laptop)
	b.do(chromedp.Focus(chromedp.CSS("#q")))
	b.press("sand")
	b.until("one eye is left", `document.querySelectorAll(".eyes tbody tr").length === 1`)
	b.until("the address holds the filter", `location.search === "?q=sand"`)
}

// Whose eye it is stays in sight however far one scrolls.
func TestIdentityStaysInSight(t *testing.T) {
	b := open(t)
	for _, s := range []size{laptop, phone} {
		b.see("/gallery/eye-two-stops/case/c1", s)
		ask[bool](b, `(window.scrollTo(0, 1500), true)`)
		for _, sel := range []string{".identity .side", ".identity .who", ".stop-line"} {
			if top := ask[float64](b, `document.querySelector("`+sel+`").getBoundingClientRect().top`); top < -1 || top > 300 {
				t.Errorf("%s: %s lies at %g px", s.name, sel, top)
			}
		}
	}
}
