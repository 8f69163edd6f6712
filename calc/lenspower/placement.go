package lenspower

import (
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Told is the answer to a question of fact; the zero Told is "not asked".
type Told string

// The answers.
const (
	Yes Told = "yes"
	No  Told = "no"
)

var (
	pieceInSulcus = finding.Declare(finding.Rule{Code: "one-piece-acrylic-in-sulcus", Severity: finding.Stop,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "one-piece soft acrylic lens in the sulcus: chafing, bleeding, raised pressure", Grade: source.Memory},
		Limit: "a one-piece soft acrylic lens with its haptics in the sulcus"})
	ringTorn = finding.Declare(finding.Rule{Code: "tension-ring-torn-capsule", Severity: finding.Stop,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "capsular tension ring needs a whole capsulorhexis and a closed posterior capsule", Grade: source.Memory},
		Limit: "a tension ring with a torn capsulorhexis or an open posterior capsule"})
	placementAsk = finding.Declare(finding.Rule{Code: "placement-not-asked", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.OwnChoice, Where: "facts a placement depends on", Grade: source.Own},
		Limit: "haptics of a lens for the sulcus, or the capsule before a tension ring, not asked"})
	chamberAsk = finding.Declare(finding.Rule{Code: "chamber-lens-ask", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "anterior chamber lens: size, iridectomy, depth, cell count", Grade: source.Memory},
		Limit: "an anterior chamber lens and size, iridectomy, depth or cell count not recorded, or no iridectomy planned"})
	chamberShallow = finding.Declare(finding.Rule{Code: "chamber-lens-shallow", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "chamber depth for an anterior chamber lens", Grade: source.Memory},
		Limit: "chamber depth below 3.00 mm for an anterior chamber lens"})
	chamberCells = finding.Declare(finding.Rule{Code: "chamber-lens-cells", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "endothelium for an anterior chamber lens", Grade: source.Memory},
		Limit: "fewer than 1500 endothelial cells per mm² for an anterior chamber lens"})
)

// What an anterior chamber lens is usually asked to have.
const (
	chamberLeastDepth = 3.0  // mm
	chamberLeastCells = 1500 // per mm²
)

var _ = declare(source.CommonPractice, source.Memory,
	coefficient{"chamber-lens.least-depth", chamberLeastDepth, "mm", "anterior chamber lens"},
	coefficient{"chamber-lens.least-cells", chamberLeastCells, "1/mm²", "anterior chamber lens"},
)

// SulcusFacts are what must be known before haptics go into the sulcus, and
// before a tension ring.
type SulcusFacts struct {
	HapticsInSulcus      bool // with or without the optic captured
	OnePieceSoftAcrylic  Told
	TensionRing          bool
	TornCapsulorhexis    Told
	OpenPosteriorCapsule Told
}

// CheckPlacement returns the stops and open questions of a placement.
func CheckPlacement(in SulcusFacts) (list []finding.Finding) {
	ask := func(field string) { list = append(list, placementAsk.On(field)) }
	if in.HapticsInSulcus {
		switch in.OnePieceSoftAcrylic {
		case Yes:
			list = append(list, pieceInSulcus.On("lens"))
		case No:
		default:
			ask("one_piece_soft_acrylic")
		}
	}
	if !in.TensionRing {
		return list
	}
	switch {
	case in.TornCapsulorhexis == Yes || in.OpenPosteriorCapsule == Yes:
		list = append(list, ringTorn.On("tension_ring"))
	case in.TornCapsulorhexis != No || in.OpenPosteriorCapsule != No:
		ask("capsule")
	}
	return list
}

// ChamberFacts are what an anterior chamber lens asks.
type ChamberFacts struct {
	LensLength unit.Reading[unit.Millimetre] // of the lens, chosen from the white to white
	Iridectomy Told
	Depth      unit.Reading[unit.Millimetre]
	Cells      unit.Reading[unit.Constant] // per mm²
}

// CheckChamberLens names what is not recorded and what speaks against.
func CheckChamberLens(in ChamberFacts) (list []finding.Finding) {
	for _, q := range [...]struct {
		field string
		lack  bool
	}{{"lens_length_mm", !in.LensLength.Known}, {"iridectomy", in.Iridectomy != Yes}, {"acd_mm", !in.Depth.Known}, {"cell_count_per_mm2", !in.Cells.Known}} {
		if q.lack {
			list = append(list, chamberAsk.On(q.field))
		}
	}
	if in.Depth.Known && !(in.Depth.Value >= chamberLeastDepth) {
		list = append(list, chamberShallow.On("acd_mm", finding.Value{Name: "got", Text: in.Depth.Value.String()}, finding.Value{Name: "limit", Text: unit.Millimetre(chamberLeastDepth).String()}))
	}
	if in.Cells.Known && !(in.Cells.Value >= chamberLeastCells) {
		list = append(list, chamberCells.On("cell_count_per_mm2", finding.Value{Name: "got", Text: unit.Fixed(float64(in.Cells.Value), 0)}, finding.Value{Name: "limit", Text: unit.Fixed(chamberLeastCells, 0)}))
	}
	return list
}
