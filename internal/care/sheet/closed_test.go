package sheet

import (
	"math"
	"testing"

	"linn/calc/astigmatism"
	"linn/eye"
	"linn/internal/care/plan"
	"linn/unit"
)

// The drawn stretch is the one that incisions are held against: a small
// incision just inside its edge is excluded, one well outside is not; both
// eyes and both seats, on the circle.
func TestClosedHoursAreDrawnWhereTheyCount(t *testing.T) {
	for _, side := range []eye.Side{eye.Right, eye.Left} {
		for _, seat := range []eye.Seat{eye.SuperiorSeat, eye.TemporalSeat} {
			k := ClockOf(side, &plan.CorneaPlan{Measured: &plan.Astigmatism{}, Seat: seat})
			k.Close("11-1 bleb, 6")
			if len(k.Closed) != 2 || k.Closed[0].Why != "bleb" {
				t.Fatalf("%+v", k.Closed)
			}
			for i, x := range []astigmatism.Excluded{{From: 11, To: 1}, {From: 6, To: 6}} {
				edge := k.Closed[i].Edge
				for n, p := range edge {
					if r := math.Hypot(p.X, p.Y); math.Abs(r-1) > 1e-6 {
						t.Errorf("off the circle by %v", r-1)
					}
					if n > 0 && n < len(edge)-1 && !x.Hits(astigmatism.Incision{Direction: unit.Degree(p.At), Width: 0.01}) {
						t.Errorf("%s, %s: %v° is drawn and not excluded", side, seat, p.At)
					}
				}
				for _, p := range []float64{edge[0].At + 2, edge[len(edge)-1].At - 2} { // clockwise: from the higher angle to the lower
					if x.Hits(astigmatism.Incision{Direction: unit.Degree(math.Mod(p+360, 360)), Width: 0.01}) {
						t.Errorf("%s, %s: %v° is excluded and not drawn", side, seat, p)
					}
				}
			}
			if m := k.Closed[0].Middle; seat == eye.SuperiorSeat && m.Y < 0.99 {
				t.Errorf("12 o’clock is at %+v", m)
			}
		}
	}
	k := &Clock{}
	if k.Close("noon"); k.Closed != nil {
		t.Error("what cannot be read is drawn")
	}
}
