package web

import "linn/finding"

// cannedWatch is a record that does not verify and whose backup is old.
type cannedWatch struct{}

func (cannedWatch) Notices() []finding.Refusal {
	return []finding.Refusal{{Code: "record-broken", Values: finding.Values{{Name: "kind", Text: "case"}, {Name: "chain", Text: "01a21354-5b33-798e-b4f5-d755d73cc103"},
		{Name: "n", Text: "4"}, {Name: "fault", Text: "it was changed after it was written"}}}}
}

func (cannedWatch) Reminders() []finding.Refusal {
	return []finding.Refusal{{Code: "backup-stale", Values: finding.Values{{Name: "made", Text: "2026-02-27 18:00"}, {Name: "hours", Text: "87"}, {Name: "folder", Text: "/media/stick/linn"}}}}
}
