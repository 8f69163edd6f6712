package dose

import (
	"linn/finding"
	"linn/source"
)

var (
	ours    = from(source.OwnChoice, source.Own, "")
	special = from(source.DrugPractice, source.Memory, "")
)

func rule(code string, s finding.Severity, gate, absolute bool, words string, ref source.Ref) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: s, Gate: gate, Absolute: absolute, Ref: ref, Limit: words})
}

func share(name string, v float64) float64 { return declared("share-"+name, "", v, ours) }

// The shares of a target within which a dose is let through: the limit itself
// passes.
var (
	stopLow     = share("stop-low", 0.5)
	stopHigh    = share("stop-high", 1.5)
	cautionLow  = share("caution-low", 0.8)
	cautionHigh = share("caution-high", 1.2)
	nearLimit   = share("near-limit", 0.8)
)

// The rules.
var (
	doseOutside    = rule("dose-outside", finding.Stop, false, true, "outside 0.5 to 1.5 times the local target", ours)
	doseOff        = rule("dose-off", finding.Caution, false, false, "outside 0.8 to 1.2 times the local target", ours)
	swapped        = rule("strength-swapped", finding.Stop, false, true, "another strength of the drug, in this volume, would meet the target", from(source.MoxifloxacinUse, source.Secondary, "two strengths in use"))
	noTarget       = rule("dose-target-missing", finding.Caution, false, false, "no local target: there is nothing to compare with", ours)
	notApproved    = rule("dose-limit-not-approved", finding.Note, false, false, "the target or limit is this program’s, not yet approved here", ours)
	totalOver      = rule("anaesthetic-over", finding.Caution, true, false, "local anaesthetics together above the local limit", from(source.LidocaineLimits, source.Secondary, "limits disagree; the lowest stands in"))
	totalNear      = rule("anaesthetic-near", finding.Note, false, false, "local anaesthetics together at 0.8 to 1.0 of the local limit", from(source.LidocaineLimits, source.Secondary, "limits disagree; the lowest stands in"))
	noLimit        = rule("anaesthetic-limit-missing", finding.Caution, false, false, "no limit for this local anaesthetic: it is in no total", ours)
	weightMissing  = rule("weight-missing", finding.Caution, false, false, "no weight: no verdict per kg", ours)
	mannitolOver   = rule("mannitol-over", finding.Caution, true, false, "above the local ceiling per kg", special)
	mannitolHigh   = rule("mannitol-high", finding.Note, false, false, "above the local usual amount per kg", special)
	unusual        = rule("strength-unusual", finding.Caution, true, false, "more than 1.5 times the usual strength", special)
	aminoglycoside = rule("aminoglycoside-near-wound", finding.Caution, true, false, "an aminoglycoside under the conjunctiva", from(source.DrugPractice, source.Memory, "macular infarction when it enters the eye"))
	concentrate    = rule("antibiotic-into-wound", finding.Caution, true, false, "an antibiotic concentrate for wound hydration", special)
	prophylaxis    = rule("vancomycin-prophylaxis", finding.Caution, true, false, "vancomycin into the chamber", from(source.CefuroximePrepare, source.Read, "introduction: haemorrhagic retinal vasculitis"))
	allergyNamed   = rule("allergy-named", finding.Stop, false, true, "the drug, or its class, is named among the allergies", ours)
	allergyRelated = rule("allergy-related", finding.Caution, true, false, "a penicillin or cephalosporin is named among the allergies", special)
	allergyUnasked = rule("allergy-not-asked", finding.Caution, false, false, "allergies were not asked for", ours)
	notChecked     = rule("dose-not-checked", finding.Caution, false, false, "prepared and checked by two people", ours)
	displacement   = rule("dose-displacement-unknown", finding.Note, false, false, "what the powder adds to the volume is not known: the strength is at most this", special)
)
