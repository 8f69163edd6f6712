package pathway

import (
	"testing"
	"time"

	"linn/eye"
	"linn/internal/care/casebook"
)

func demoWard(t testing.TB, store casebook.Store, at time.Time) (*Pathway, casebook.Actor) {
	t.Helper()
	p := &Pathway{Store: store, Clock: func() time.Time { return at }, Random: chance(), Program: "0.1.0-test"}
	id, err := p.SeedDemo(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return p, casebook.Actor{ID: id}
}

// The demo's 27 eyes stand where their stories put them, on any day and in
// any zone, and the record they leave verifies.
func TestSeedDemo(t *testing.T) {
	for _, c := range []struct {
		engine string
		at     time.Time
	}{
		{"memory", time.Date(2026, 3, 3, 0, 10, 0, 0, nepal)},
		{"memory", time.Date(2028, 2, 29, 23, 50, 0, 0, newfoundland)},
		{"sqlite", time.Date(2026, 12, 31, 12, 0, 0, 0, time.UTC)},
	} {
		t.Run(c.engine+c.at.Format(" 2006-01-02 -0700"), func(t *testing.T) {
			p, me := demoWard(t, engines[c.engine](t), c.at)
			today, rows, err := p.Ward(t.Context(), me, WardQuery{})
			if err != nil || len(rows) != 27 || today.String() != c.at.Format("2006-01-02") {
				t.Fatalf("%d rows on %s, %v", len(rows), today, err)
			}
			stops, gates, signed := 0, 0, 0
			for _, r := range rows {
				switch {
				case r.State == casebook.StateSigned && r.Missing == nil && r.Progress.Sheet:
					signed++
				case r.Missing.Need == NeedNoStop:
					stops++
				case r.Missing.Need == NeedGates:
					gates++
				}
			}
			if stops != 1 || gates < 5 || signed != 1 {
				t.Errorf("%d stops, %d gates, %d signed", stops, gates, signed)
			}
			if rows[0].Who.Name != "Amrelle Saltmarsh" || rows[0].Side != eye.Right || rows[0].State != casebook.StateSigned {
				t.Errorf("first row %+v", rows[0])
			}
			v, err := p.VerifyUnattended(t.Context(), nil)
			if err != nil || !v.Sound() || v.Plans != 6 {
				t.Errorf("%+v %v", v, err)
			}
			if _, err := p.SeedDemo(t.Context()); codes(err) != "not-first" {
				t.Errorf("seeded twice: %v", err)
			}
		})
	}
}

func BenchmarkEye(b *testing.B) {
	p, me := demoWard(b, casebook.NewMemory(), time.Date(2026, 3, 3, 9, 0, 0, 0, nepal))
	_, rows, err := p.Ward(b.Context(), me, WardQuery{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := p.Check(b.Context(), me, rows[1].Case); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWard(b *testing.B) {
	p, me := demoWard(b, casebook.NewMemory(), time.Date(2026, 3, 3, 9, 0, 0, 0, nepal))
	for b.Loop() {
		if _, _, err := p.Ward(b.Context(), me, WardQuery{}); err != nil {
			b.Fatal(err)
		}
	}
}
