package dicomio

import (
	"linn/finding"
	"linn/source"
)

func rule(code string, severity finding.Severity, limit string) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: severity, Limit: limit,
		Ref: source.Ref{Key: source.DicomOphthalmic, Grade: source.Secondary}})
}

var (
	noIdentifier     = rule("dicom-no-identifier", finding.Caution, "the file names no patient identifier")
	lengthUnselected = rule("dicom-length-unselected", finding.Caution, "several lengths and none selected: none taken")
	acdReference     = rule("dicom-acd-reference", finding.Caution, "depth whose front surface is not the front of the cornea, or not stated: not taken")
	indexInferred    = rule("dicom-index-inferred", finding.Note, "index from power and radius, within 0.0003 of one in use")
	indexUnclear     = rule("dicom-index-unclear", finding.Caution, "power and radius fit no index in use, or more than one")
	notPerpendicular = rule("dicom-not-perpendicular", finding.Caution, "flat and steep meridian more than 1° from perpendicular")
)

func mm(text string) finding.Value { return finding.Value{Name: "mm", Text: text} }
