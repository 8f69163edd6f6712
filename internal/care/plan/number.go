package plan

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
)

// Number is a result that may not exist. In JSON it is the unrounded number,
// or null; never −0, never a number that is not finite.
type Number struct {
	Value float64
	Known bool
}

// number makes a Number of v; what is not finite does not exist.
func number[T ~float64](v T) Number {
	if math.IsNaN(float64(v)) || math.IsInf(float64(v), 0) {
		return Number{}
	}
	return Number{Value: float64(v) + 0, Known: true} // −0 becomes 0
}

// MarshalJSON writes the shortest text that reads back as the same number.
func (n Number) MarshalJSON() ([]byte, error) {
	if !n.Known {
		return []byte("null"), nil
	}
	if math.IsNaN(n.Value) || math.IsInf(n.Value, 0) {
		return nil, fmt.Errorf("plan: %v is not a result", n.Value)
	}
	return json.Marshal(n.Value + 0)
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (n *Number) UnmarshalJSON(b []byte) error {
	if bytes.Equal(b, []byte("null")) {
		*n = Number{}
		return nil
	}
	v, err := strconv.ParseFloat(string(b), 64)
	if err != nil {
		return fmt.Errorf("plan: %q is not a number", b)
	}
	*n = Number{Value: v, Known: true}
	return nil
}
