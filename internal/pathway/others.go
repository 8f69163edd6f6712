package pathway

import "linn/calc/risk"

// OtherRisk is a published risk beside capsule rupture, in its own place and
// years. Such risks are shown beside one another and never added.
type OtherRisk struct {
	ID, Setting, Years string
	PerTenThousand     float64
	Source, Grade      string
}

// OtherRisks lists them.
func OtherRisks() (list []OtherRisk) {
	for i := range risk.Others {
		o := &risk.Others[i]
		list = append(list, OtherRisk{o.ID, o.Setting, o.Years, 10000 * o.Of(), string(o.Ref.Key), string(o.Ref.Grade)})
	}
	return list
}
