package browsertest

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"linn/internal/pathway"
	"linn/unit"
)

// least is how high the power has to stand to be read at 2.5 m, in mm of the
// page; the answer is looked at on the laptop.
const least = 25.0

// The lens in hand by keyboard and scanner alone: sheet, box, two readers, and
// what the screen then holds up.
func TestLensInHand(t *testing.T) {
	b := workbench(t, true)
	b.see("/ward", laptop)
	b.be("Haldis Marrowick")
	_, rows, err := b.path.Ward(t.Context(), b.who["Haldis Marrowick"], pathway.WardQuery{State: pathway.StateSigned})
	if err != nil || len(rows) == 0 {
		t.Fatal("no signed plan", err)
	}
	eye := rows[0]
	b.now = time.Date(eye.List.Date.Year, time.Month(eye.List.Date.Month), eye.List.Date.Day, 8, 0, 0, 0, nepal)
	b.be("Haldis Marrowick")
	sheet, box, power := fmt.Sprintf("linn:%05d", eye.Sheet), "0105060917510011"+"17271231"+"10A1B2C3", unit.Signed(float64(eye.Power.Value), 2)
	b.hold(sheet, box, eye.Model, "+30.0")
	b.until("the wrong box stops", `!!document.querySelector(".held-up.stop")`)
	b.looked("stop", "the signed plan "+power)
	b.hold(sheet, box, eye.Model, power)
	b.until("the right box agrees", `!!document.querySelector(".held-up.agrees")`)
	b.looked("agrees", "Box agrees with signed plan 1 of "+eye.Who.Name+", "+eye.Side.Words()+": now read both aloud")
	high := ask[float64](b.browser, `(() => { const e = document.querySelector(".held-up .big .num"), c = document.createElement("canvas").getContext("2d"), s = getComputedStyle(e);
		c.font = s.fontWeight + " " + s.fontSize + " " + s.fontFamily; return c.measureText("8").actualBoundingBoxAscent * 25.4 / 96; })()`)
	if high < least {
		t.Errorf("the power stands %.1f mm high", high)
	}
	t.Logf("the power stands %.1f mm high", high)
}

// hold answers the questions of the lens in hand.
func (b *bench) hold(sheet, box, model, power string) {
	b.t.Helper()
	b.see("/theatre", laptop)
	if got := b.focused(); got != "code" {
		b.t.Errorf("the first key goes to %q", got)
	}
	b.press(sheet)
	b.press(kb.Enter)
	b.until("whose lens", `!!document.getElementById("box")`)
	if got := b.focused(); got != "box" {
		b.t.Errorf("the scanner types into %q", got)
	}
	b.press(box)
	b.press(kb.Enter)
	for _, reader := range []struct{ id, who string }{{"first", "Haldis Marrowick"}, {"second", "Corvan Eskerling"}} {
		b.until(reader.id+" reader", `!!document.getElementById("`+reader.id+`_power")`)
		b.check(b.t, laptop)
		if reader.id == "first" {
			b.pick("model", model)
		}
		b.pick(reader.id, reader.who)
		b.do(chromedp.Focus(chromedp.CSS("#" + reader.id + "_power")))
		b.press(power)
		b.do(chromedp.Focus(chromedp.CSS("#" + reader.id + "_cylinder")))
		b.press("0")
		b.press(kb.Enter)
	}
}

// looked checks the answer and takes its picture.
func (b *bench) looked(name, says string) {
	b.t.Helper()
	if text := ask[string](b.browser, `document.querySelector(".held-up").innerText`); !strings.Contains(text, says) {
		b.t.Errorf("%s: %q", name, text)
	}
	b.check(b.t, laptop)
	b.picture("hand-" + name)
}
