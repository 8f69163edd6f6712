package lenspower

import (
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

var (
	kBeforeAssumed = finding.Declare(finding.Rule{Code: "k-before-assumed", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.Aramberri2003, Where: "K before unknown: 43.5 to 44 D; the middle is taken", Grade: source.Memory},
		Limit: "K before surgery not recorded and the position predicted from 43.75 D"})
	keratometryNotTrue = finding.Declare(finding.Rule{Code: "keratometry-not-true", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.Aramberri2003, Where: "double K wants the true corneal power now", Grade: source.Read},
		Limit: "double K after laser or unknown surgery with K as measured: shown, not counted"})
	opticalKOnly = finding.Declare(finding.Rule{Code: "optical-keratometry-only", Severity: finding.Note,
		Ref:   source.Ref{Key: source.HaigisLNote, Where: "radius from partial-coherence keratometry", Grade: source.Secondary},
		Limit: "haigis-l is made for the radius of an optical biometer"})
	topographyK = finding.Declare(finding.Rule{Code: "central-topography-k", Severity: finding.Note,
		Ref:   source.Ref{Key: source.WangKoch2004, Where: "central topographic power", Grade: source.Memory},
		Limit: "the method is made for the central power of topography, and takes K as entered"})
	historyUsed = finding.Declare(finding.Rule{Code: "history-carried-to-cornea", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Holladay1989, Where: "refractions vertexed to the cornea", Grade: source.Secondary},
		Limit: "a refraction from before and after surgery is used"})
	hyperopicDoubt = finding.Declare(finding.Rule{Code: "history-poor-after-hyperopic", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.Awwad2009, Where: "24 eyes", Grade: source.Read},
		Limit: "feiz-mannis or clinical-history after hyperopic laser"})
	nomogramNote = finding.Declare(finding.Rule{Code: "feiz-mannis-nomogram", Severity: finding.Note,
		Ref:   source.Ref{Key: source.FeizMannis, Where: "nomogram, Cornea 2005", Grade: source.Memory},
		Limit: "the nomogram's change of the ordinary power, beside the method"})
	kindUnknown = finding.Declare(finding.Rule{Code: "surgery-kind-unknown", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.OwnChoice, Where: "no correction is chosen by guess", Grade: source.Own},
		Limit: "corneal surgery of unknown kind: only methods that do not depend on the kind"})
	radialCuts = finding.Declare(finding.Rule{Code: "radial-no-correction", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "radial keratotomy: smallest-zone topography, double K, target −0.50 to −1.00 D", Grade: source.Memory},
		Limit: "corneal surgery radial"})
	graftCornea = finding.Declare(finding.Rule{Code: "graft-cornea", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "keratometry of a graft", Grade: source.Memory},
		Limit: "corneal surgery graft"})
	kHistoryContradicts = finding.Declare(finding.Rule{Code: "k-history-contradicts", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.OwnChoice, Where: "myopic laser flattens, hyperopic laser steepens", Grade: source.Own},
		Limit: "K now not flatter than before myopic laser, or not steeper than before hyperopic laser"})
)

// OperatedFindings says what holds for the whole operated eye, whatever the
// method.
func OperatedFindings(in OperatedInput) (list []finding.Finding) {
	switch in.Surgery {
	case eye.UnknownSurgery:
		list = append(list, kindUnknown.On("corneal_surgery"))
	case eye.RadialCuts:
		list = append(list, radialCuts.On("corneal_surgery", finding.Value{Name: "low", Text: unit.Dioptre(-1).String()}, finding.Value{Name: "high", Text: unit.Dioptre(-0.5).String()}))
	case eye.Graft:
		list = append(list, graftCornea.On("corneal_surgery"))
	}
	flatter, steeper := in.Surgery == eye.MyopicLaser && in.K >= in.KBefore.Value, in.Surgery == eye.HyperopicLaser && in.K <= in.KBefore.Value
	if in.KBefore.Known && (flatter || steeper) {
		list = append(list, kHistoryContradicts.On("k_before_d", finding.Value{Name: "got", Text: in.KBefore.Value.Unsigned()}, finding.Value{Name: "now", Text: in.K.Unsigned()}))
	}
	return list
}

// assumedBefore is the K that predicts the position when K before surgery is
// not recorded: the middle of the usual 43.5 to 44 D.
const assumedBefore = 43.75

var _ = declare(source.Aramberri2003, source.Memory,
	coefficient{"after.k-before-assumed", assumedBefore, "D", "K before unknown, 43.5 to 44 D; the middle is our own choice"})

// before returns K before surgery, or the assumed one with its caution.
func (in *OperatedInput) before(id string, n *notes) (unit.Reading[unit.Dioptre], []finding.Finding) {
	if in.KBefore.Known {
		return in.KBefore, nil
	}
	n.add("after.k-before-assumed", "Kpre", assumedBefore, "D")
	f := kBeforeAssumed.On("k_before_d", finding.Value{Name: "assumed", Text: unit.Dioptre(assumedBefore).Unsigned()})
	f.Method = id
	return unit.Known(unit.Dioptre(assumedBefore)), []finding.Finding{f}
}

// historyNote says at which vertex distance the history was carried.
func (in *OperatedInput) historyNote(id string) finding.Finding {
	f := historyUsed.On("refraction_before_d", finding.Value{Name: "before", Text: in.RefractionBefore.Value.String()},
		finding.Value{Name: "after", Text: in.RefractionAfter.Value.String()}, finding.Value{Name: "vertex", Text: in.Vertex.String()})
	f.Method = id
	return f
}

// corrected is the common end of the methods that estimate the true corneal
// power and predict the position from K before surgery.
func (in *OperatedInput) corrected(id string, k float64, n *notes) correction {
	n.add("after.k-true", "Kc", k, "D")
	before, found := in.before(id, n)
	return correction{k: unit.Dioptre(k), before: before, trueK: true, found: found}
}
