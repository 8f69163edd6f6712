package plan

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"linn/unit"
)

// Difference is one printed value that is not what it was.
type Difference struct {
	Path string // "lenses.0.methods.2.power_d"
	Was  string // "" when it was not there
	Is   string
}

// Recompute makes the plan again from its own inputs with the program that
// runs now, and lists what would print otherwise. The program's own version
// is not a difference.
func Recompute(p *Plan) ([]Difference, error) {
	return Compare(p, Make(p.Input))
}

// Compare lists what prints differently in two plans, in the order of the
// first.
func Compare(was *Plan, is Plan) ([]Difference, error) {
	a, err := tree(was)
	if err != nil {
		return nil, err
	}
	b, err := tree(&is)
	if err != nil {
		return nil, err
	}
	var list []Difference
	compare(&list, "", a, b)
	return list, nil
}

func tree(p *Plan) (any, error) {
	raw, err := json.Marshal(p)
	if err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	var out any
	if err := json.Unmarshal(raw, &out); err != nil {
		return nil, fmt.Errorf("plan: %w", err)
	}
	return out, nil
}

// compare walks two JSON trees; numbers are the same when they print alike.
func compare(list *[]Difference, path string, a, b any) {
	switch x := a.(type) {
	case map[string]any:
		if y, ok := b.(map[string]any); ok {
			keys := maps.Clone(x)
			maps.Copy(keys, y)
			for _, k := range slices.Sorted(maps.Keys(keys)) {
				compare(list, join(path, k), x[k], y[k])
			}
			return
		}
	case []any:
		if y, ok := b.([]any); ok {
			for i := range max(len(x), len(y)) {
				compare(list, join(path, strconv.Itoa(i)), at(x, i), at(y, i))
			}
			return
		}
	}
	if was, is := printed(path, a), printed(path, b); was != is {
		*list = append(*list, Difference{path, was, is})
	}
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func at(list []any, i int) any {
	if i < len(list) {
		return list[i]
	}
	return nil
}

// printed writes a value as people see it: the inputs as they stand, results
// to the digits that are printed.
func printed(path string, v any) string {
	n, ok := v.(float64)
	switch {
	case v == nil:
		return ""
	case !ok:
		raw, err := json.Marshal(v)
		if err != nil {
			return fmt.Sprint(v)
		}
		return string(raw)
	case strings.HasPrefix(path, "input."):
		return plain(n)
	}
	return unit.Fixed(n, decimals(path[strings.LastIndexByte(path, '.')+1:]))
}

// decimals is how many are printed of a result, by the unit at the end of its
// key.
func decimals(key string) int {
	switch {
	case strings.HasSuffix(key, "_pct"):
		return 0
	case key == "value": // of a constant or a step of a working
		return 4
	case key == "a1", key == "a2":
		return 4
	}
	return 2
}
