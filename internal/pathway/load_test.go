package pathway

import (
	"fmt"
	"testing"

	"linn/eye"
	"linn/internal/care/casebook"
)

// BenchmarkLargeWard lists a ward of 200 eyes that are ready to sign.
func BenchmarkLargeWard(b *testing.B) {
	w := newWard(b, casebook.NewMemory(), nepal)
	for i := range 200 {
		id := w.open(w.patient(fmt.Sprintf("Mira %d", i), fmt.Sprintf("H-%04d", i)), eye.Right)
		w.measure(id, changed(ordinary, "axial_length_mm", fmt.Sprintf("%.2f", 23+float64(i)/200)), other)
	}
	b.Run("ward", func(b *testing.B) {
		for b.Loop() {
			if _, _, err := w.Ward(w.ctx(), w.who["sam"], WardQuery{}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("eye", func(b *testing.B) {
		_, rows, err := w.Ward(w.ctx(), w.who["sam"], WardQuery{})
		w.must(err)
		for b.Loop() {
			w.check(rows[0].Case)
		}
	})
}
