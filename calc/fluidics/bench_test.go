package fluidics

import "testing"

// One trial: steady state, 3 s blocked, 2.5 s after the break.
func BenchmarkBreak(b *testing.B) {
	m := Reference()
	var u Surge
	b.ReportAllocs()
	for b.Loop() {
		if _, err := u.Run(&m, StandardBreak()); err != nil {
			b.Fatal(err)
		}
	}
}

// A stiff trial: a line of 0.01 µL/mmHg behind a fast pump at a low limit.
func BenchmarkStiffBreak(b *testing.B) {
	m := Reference()
	m.Compliance, m.Flow, m.VacuumLimit, m.Droop = 0.01, 60, 50, 0.02
	var u Surge
	for b.Loop() {
		if _, err := u.Run(&m, StandardBreak()); err != nil {
			b.Fatal(err)
		}
	}
}

// Ten seconds of a fragment series: four pieces of 1 s with 1.5 s between.
func BenchmarkSeries(b *testing.B) {
	m := Reference()
	phases := Series{Pieces: 4, Blocked: 1, Free: 1.5}.Phases()
	for b.Loop() {
		if _, err := m.Play(phases); err != nil {
			b.Fatal(err)
		}
	}
}

// A thousand points of an envelope; the grid of a page has eight thousand.
func BenchmarkEnvelope(b *testing.B) {
	in := envelopeGrid(10)
	for b.Loop() {
		if _, err := in.Envelope(); err != nil {
			b.Fatal(err)
		}
	}
}
