package technique

import (
	"slices"
	"strconv"
	"strings"

	"linn/unit"
)

// truth is the outcome of a condition. What was not answered is neither yes
// nor no (Kleene's three values).
type truth int8

const (
	no truth = iota
	unknown
	yes
)

// condition is a tree: a leaf tests one answer, a branch joins conditions.
type condition struct {
	op    op
	key   string
	words []string
	limit float64
	kids  []condition
}

type op int8

const (
	opIs op = iota
	opOver
	opAtLeast
	opUnder
	opUnanswered
	opAll
	opAny
	opNot
)

func is(key string, words ...string) condition {
	return condition{op: opIs, key: key, words: words}
}
func has(key string) condition                 { return is(key, "yes") }
func lacks(key string) condition               { return is(key, "no") }
func over(key string, limit float64) condition { return condition{op: opOver, key: key, limit: limit} }
func atLeast(key string, limit float64) condition {
	return condition{op: opAtLeast, key: key, limit: limit}
}
func under(key string, limit float64) condition {
	return condition{op: opUnder, key: key, limit: limit}
}
func unanswered(key string) condition    { return condition{op: opUnanswered, key: key} }
func all(kids ...condition) condition    { return condition{op: opAll, kids: kids} }
func either(kids ...condition) condition { return condition{op: opAny, kids: kids} }
func not(kid condition) condition        { return condition{op: opNot, kids: []condition{kid}} }

// holds judges the condition. It reads the keys of its leaves and nothing
// else.
func (c *condition) holds(a Answers) truth {
	switch c.op {
	case opAll:
		t := yes
		for i := range c.kids {
			t = min(t, c.kids[i].holds(a))
		}
		return t
	case opAny:
		t := no
		for i := range c.kids {
			t = max(t, c.kids[i].holds(a))
		}
		return t
	case opNot:
		return yes - c.kids[0].holds(a)
	}
	x, answered := a[c.key]
	switch {
	case c.op == opUnanswered:
		return truthOf(!answered)
	case !answered:
		return unknown
	case c.op == opIs:
		return truthOf(slices.Contains(c.words, x.Word))
	case c.op == opOver:
		return truthOf(x.Number > c.limit)
	case c.op == opAtLeast:
		return truthOf(x.Number >= c.limit)
	}
	return truthOf(x.Number < c.limit)
}

func truthOf(b bool) truth {
	if b {
		return yes
	}
	return no
}

// reads lists the keys of the leaves, each once.
func (c *condition) reads() (keys []string) {
	if c.key != "" {
		return []string{c.key}
	}
	for i := range c.kids {
		for _, k := range c.kids[i].reads() {
			if !slices.Contains(keys, k) {
				keys = append(keys, k)
			}
		}
	}
	return keys
}

// words writes the condition for the generated list of findings.
func (c *condition) text() string {
	join := func(by string) string {
		var parts []string
		for i := range c.kids {
			part := c.kids[i].text()
			if len(c.kids[i].kids) > 1 {
				part = "(" + part + ")"
			}
			parts = append(parts, part)
		}
		return strings.Join(parts, by)
	}
	switch c.op {
	case opAll:
		return join(" and ")
	case opAny:
		return join(" or ")
	case opNot:
		return "not (" + c.kids[0].text() + ")"
	case opUnanswered:
		return c.key + " not answered"
	case opIs:
		return c.key + " " + strings.Join(c.words, " or ")
	}
	limit := strconv.FormatFloat(c.limit, 'f', -1, 64)
	if q := QuestionNamed(c.key); q != nil && q.Unit != "" {
		limit += unit.Thin + q.Unit
	}
	return c.key + map[op]string{opOver: " above ", opAtLeast: " from ", opUnder: " below "}[c.op] + limit
}
