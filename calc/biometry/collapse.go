package biometry

import "linn/finding"

// Collapse parts a list into what is shown one by one and the notes of strict
// screening limits, which people see as one line. Order is kept on both
// sides and nothing is dropped.
func Collapse(list []finding.Finding) (shown, strict []finding.Finding) {
	for _, f := range list {
		if f.Strict && f.Severity == finding.Note {
			strict = append(strict, f)
			continue
		}
		shown = append(shown, f)
	}
	return shown, strict
}
