package lenspower

import (
	"math"

	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Feiz and Mannis: the power the eye would have needed before the surgery, less
// the change of refraction at the spectacle plane over 0.7.
const (
	feizShare                             = 0.7
	feizMyopicSlope, feizMyopicZero       = 0.595, -0.231
	feizHyperopicSlope, feizHyperopicZero = 0.862, -0.751
)

var _ = declare(source.FeizMannis, source.Memory,
	coefficient{"feiz-mannis.share", feizShare, "", "refraction per dioptre of lens"},
	coefficient{"feiz-mannis.nomogram-myopic-slope", feizMyopicSlope, "", "nomogram"},
	coefficient{"feiz-mannis.nomogram-myopic-zero", feizMyopicZero, "D", "nomogram"},
	coefficient{"feiz-mannis.nomogram-hyperopic-slope", feizHyperopicSlope, "", "nomogram"},
	coefficient{"feiz-mannis.nomogram-hyperopic-zero", feizHyperopicZero, "D", "nomogram"},
)

var feizMannis = []*OperatedMethod{{ID: "feiz-mannis", Version: "1", Ref: source.Ref{Key: source.FeizMannis, Where: "equation; the ordinary method is SRK/T, our choice", Grade: source.Memory},
	Surgeries: eitherLaser, Needs: []string{"k_before_d", "refraction_before_d", "refraction_after_d"}, base: always("srk-t"), correct: correctFeizMannis}}

func correctFeizMannis(in *OperatedInput, n *notes) (correction, error) {
	c, err := in.laserChange(n)
	if err != nil {
		return correction{}, err
	}
	n.add("after.change-spectacle", "dSE", float64(c.spectacle), "D")
	added := -c.spectacle / feizShare
	n.add("after.added", "dP", float64(added), "D")
	found := []finding.Finding{in.historyNote("feiz-mannis"), feizNote(in.Surgery, c.spectacle)}
	if in.Surgery == eye.HyperopicLaser {
		found = append(found, doubt("feiz-mannis"))
	}
	return correction{k: in.KBefore.Value, added: added, history: true, found: found}, nil
}

func feizNote(surgery eye.CornealSurgery, change unit.Dioptre) finding.Finding {
	f := nomogramNote.On("refraction_before_d", finding.Value{Name: "added", Text: FeizMannisNomogram(surgery, change).String()})
	f.Method = "feiz-mannis"
	return f
}

func doubt(id string) finding.Finding {
	f := hyperopicDoubt.On("corneal_surgery")
	f.Method = id
	return f
}

// FeizMannisNomogram returns what the nomogram adds to the ordinary power with
// K as it is now, from the change of refraction at the spectacle plane: after
// myopic surgery 0.595·|dSE| − 0.231, after hyperopic −(0.862·|dSE| − 0.751),
// never of the wrong sign. It is 0 for other surgery.
func FeizMannisNomogram(surgery eye.CornealSurgery, change unit.Dioptre) unit.Dioptre {
	size := math.Abs(float64(change))
	switch surgery {
	case eye.MyopicLaser:
		return unit.Dioptre(max(0, feizMyopicSlope*size+feizMyopicZero))
	case eye.HyperopicLaser:
		return unit.Dioptre(min(0, -feizHyperopicSlope*size-feizHyperopicZero))
	}
	return 0
}
