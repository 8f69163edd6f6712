package csvio

import (
	"context"
	"fmt"
	"io"
	"strings"
	"testing"

	"linn/finding"
	"linn/internal/care/plan"
)

// table makes n ordinary rows with every column that ordinary exports carry.
func table(n int) string {
	var b strings.Builder
	b.WriteString("id,side,age_years,axial_length_mm,axial_length_method,k_flat_d,k_steep_d,keratometric_index,acd_mm,lens_status,vitreous,corneal_surgery,target_d,vertex_mm,a,sf_mm,pacd_mm,a0,a1,a2\n")
	for i := range n {
		fmt.Fprintf(&b, "E%07d,right,%d,%.2f,optical,%.2f,%.2f,1.3375,%.2f,phakic,natural,none,-0.25,12,118.4,1.4499,5.1987,1.5269,0.4,0.1\n",
			i, 50+i%40, 21+float64(i%800)/100, 41+float64(i%500)/100, 42+float64(i%500)/100, 2.5+float64(i%150)/100)
	}
	return b.String()
}

func answer(r *Row, into *plan.Row) { into.Answer(&r.Eye, &r.Lens, r.Power) }

// BenchmarkLenses answers 100,000 rows an iteration, five methods each.
func BenchmarkLenses(b *testing.B) {
	in := table(100_000)
	b.SetBytes(int64(len(in)))
	b.ReportAllocs()
	for b.Loop() {
		s, err := Lenses(context.Background(), Job{Name: "bench", In: strings.NewReader(in), Out: io.Discard, Answer: answer, Message: func(r finding.Refusal) { b.Fatal(r) }})
		if err != nil || s.Rows != 100_000 || s.Refused != 0 {
			b.Fatal(s, err)
		}
	}
}
