package pathway

import (
	"maps"
	"slices"

	"linn/internal/care/casebook"
)

// tally counts, in every chain of a case, the revisions that passed a gate or
// signed alone. What was later reopened or withdrawn still happened.
func tally(tx casebook.Tx) ([]Count, error) {
	n := map[string]int{}
	for head, err := range tx.Heads(casebook.KindCase) {
		if err != nil {
			return nil, err
		}
		if err := tallyCase(tx, head.Chain, n); err != nil {
			return nil, err
		}
	}
	var list []Count
	for _, code := range slices.Sorted(maps.Keys(n)) {
		list = append(list, Count{code, n[code]})
	}
	return list, nil
}

func tallyCase(tx casebook.Tx, id string, n map[string]int) error {
	versions, err := casebook.History[casebook.Case](tx, id)
	if err != nil {
		return err
	}
	for _, v := range versions {
		switch c := v.State; {
		case c.Verb == casebook.VerbPass && len(c.Passes) > 0:
			n[c.Passes[len(c.Passes)-1].Code]++
		case c.Verb == casebook.VerbSign && c.LoneReason != "":
			n[LoneSignature]++
		}
	}
	return nil
}
