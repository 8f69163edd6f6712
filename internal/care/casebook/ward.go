package casebook

import (
	"cmp"
	"errors"
	"slices"
)

// Ward is one entry of the ward chain, "linn.ward/1": the heads of the chains
// that were written to since the entry before it. All entries together list
// every chain's head, so a removed newest revision shows in any later entry.
type Ward struct {
	Verb   Verb   `json:"verb"`
	Reason string `json:"reason,omitempty"` // "backup", "close", "verify"

	Through int64  `json:"through"` // sequence up to which the heads were listed
	Chains  int    `json:"chains"`  // number of chains at that sequence, without the ward chain
	Heads   []Head `json:"heads"`
}

// Kind is KindWard.
func (Ward) Kind() Kind { return KindWard }

// Format is "linn.ward/1".
func (Ward) Format() string { return "linn.ward/1" }

// Head names the newest revision of a chain.
type Head struct {
	Kind   Kind   `json:"kind"`
	Chain  string `json:"chain"`
	Number int    `json:"number"`
	Hash   Digest `json:"hash"`
}

// headsPerEntry keeps one entry of the ward chain well below the limit of a
// payload: a head takes some 160 bytes.
const headsPerEntry = 10000

// AppendWardHead lists in the ward chain the heads that changed since its last
// entry, and does nothing when none did. reason says why: a backup, a close, a
// verification.
func AppendWardHead(tx Tx, stamp Stamp, reason string) error {
	last, at, err := Load[Ward](tx, WardChain)
	if err != nil && !errors.Is(err, ErrAbsent) {
		return err
	}
	heads, through, opened, err := headsSince(tx, last.Through)
	if err != nil || len(heads) == 0 {
		return err
	}
	seen := at.Number
	for part := range slices.Chunk(heads, headsPerEntry) {
		w := Ward{Verb: VerbHeads, Reason: reason, Through: through, Chains: last.Chains + opened, Heads: part}
		r, err := Revise(tx, stamp, WardChain, seen, w)
		if err != nil {
			return err
		}
		seen = r.Number
	}
	return nil
}

// headsSince collects the heads of the chains written to after a sequence, the
// last sequence met, and how many of the chains are new.
func headsSince(tx Tx, sequence int64) (heads []Head, through int64, opened int, err error) {
	newest := map[link]Head{}
	for r, err := range tx.Since(sequence) {
		if err != nil {
			return nil, 0, 0, err
		}
		if r.Kind == KindWard {
			continue
		}
		through = r.Sequence
		if r.Number == 1 {
			opened++
		}
		newest[link{r.Kind, r.Chain}] = Head{r.Kind, r.Chain, r.Number, r.Hash}
	}
	for _, h := range newest {
		heads = append(heads, h)
	}
	slices.SortFunc(heads, func(a, b Head) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Chain, b.Chain))
	})
	return heads, through, opened, nil
}

// link names a chain.
type link struct {
	kind  Kind
	chain string
}
