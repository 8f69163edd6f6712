package lenspower

import (
	"linn/eye"
	"linn/finding"
	"linn/source"
)

var clinicalHistory = []*OperatedMethod{{ID: "clinical-history", Version: "1", Ref: source.Ref{Key: source.Holladay1989, Where: "Kpre + SEpre,c − SEpost,c; the double-K method is SRK/T, our choice", Grade: source.Secondary},
	Surgeries: laserUnknown, Needs: []string{"k_before_d", "refraction_before_d", "refraction_after_d"}, base: always("srk-t"),
	correct: func(in *OperatedInput, n *notes) (correction, error) {
		ch, err := in.laserChange(n)
		if err != nil {
			return correction{}, err
		}
		c := in.corrected("clinical-history", float64(in.KBefore.Value+ch.cornea), n)
		c.history = true
		c.found = append([]finding.Finding{in.historyNote("clinical-history")}, c.found...)
		if in.Surgery == eye.HyperopicLaser {
			c.found = append(c.found, doubt("clinical-history"))
		}
		return c, nil
	}}}
