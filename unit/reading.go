package unit

// Reading is one measured or stated quantity. The zero Reading is "not
// recorded", which is never the same as normal.
type Reading[U Quantity] struct {
	Value U
	Known bool
	SD    U   // spread of the N repeats behind Value; 0 when not recorded
	N     int // number of repeats; 0 when not recorded

	Text       string // as typed; empty when the value did not come from text
	Method     string
	Device     string
	Operator   string
	MeasuredOn Date
}

// Known makes a Reading of a bare value.
func Known[U Quantity](v U) Reading[U] { return Reading[U]{Value: v, Known: true} }

// Or returns the value, or def when nothing was recorded. The caller states
// the default as a finding.
func (r Reading[U]) Or(def U) U {
	if r.Known {
		return r.Value
	}
	return def
}
