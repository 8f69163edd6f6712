package gs1io

import (
	"slices"
	"strings"

	"linn/finding"
	"linn/unit"
)

// The issuers of device identifiers.
const (
	GS1    = "gs1"
	HIBCC  = "hibcc"  // begins with "+"
	ICCBBA = "iccbba" // begins with "=" or "&"
)

// gs is what a scanner sends for FNC1.
const gs = "\x1d"

// Longest is the most characters a string may have. The longest honest one is
// a third of it.
const Longest = 256

// symbologies are the identifiers a scanner may send before a GS1 string.
var symbologies = []string{"]C1", "]d2", "]Q3", "]e0"}

// Read reads a scanned or typed string; today completes the years and judges
// the expiry. It returns every way the string can be read, at least one, or
// why it can be read in none. Typed with the identifiers in brackets, as
// printed under the code, it is read as printed; ␝ stands for the separator.
func Read(raw string, today unit.Date) ([]Label, finding.Refusals) {
	if len(raw) > Longest {
		return nil, refused("label-too-long")
	}
	s := strings.Trim(strings.ReplaceAll(raw, "␝", gs), " \t\r\n")
	if issuer := otherIssuer(s); issuer != "" {
		return []Label{other(raw, issuer)}, nil
	}
	for _, id := range symbologies {
		s = strings.TrimPrefix(s, id)
	}
	if s = strings.Trim(s, gs); strings.HasPrefix(s, "(") {
		s = strings.ReplaceAll(s, " ", "") // typed as printed
	}
	if s == "" {
		return nil, refused("label-empty")
	}
	if sign := strange(strings.ReplaceAll(s, gs, "")); sign != "" {
		return nil, refused("label-sign", finding.Value{Name: "got", Text: printable(sign)})
	}
	ways, bad := waysOf(s, today)
	if bad != nil {
		return nil, bad
	}
	var labels []Label
	for _, w := range ways {
		labels = append(labels, labelOf(raw, w, today, len(ways)))
	}
	return labels, nil
}

func waysOf(s string, today unit.Date) ([][]Element, finding.Refusals) {
	if list, is := bracketed(s); is {
		return one(list, today)
	}
	if strings.Contains(s, gs) {
		return one(separated(s), today)
	}
	ways, many := splits(s, today)
	switch {
	case many:
		return nil, refused("label-too-many-ways")
	case len(ways) > 0:
		return ways, nil
	}
	return one(separated(s), today) // for its refusals
}

// one takes a list of elements, or says what is wrong with them.
func one(list []Element, today unit.Date) ([][]Element, finding.Refusals) {
	var bad finding.Refusals
	seen := map[string]string{}
	for _, e := range list {
		if why := e.wrong(today); why != "" {
			bad = append(bad, refused(why, finding.Value{Name: "ai", Text: e.AI}, finding.Value{Name: "got", Text: printable(e.Text)})...)
			continue
		}
		if was, twice := seen[e.AI]; twice && e.AI != "" && was != e.Text {
			bad = append(bad, refused("label-twice", finding.Value{Name: "ai", Text: e.AI}, finding.Value{Name: "was", Text: was}, finding.Value{Name: "got", Text: e.Text})...)
		}
		seen[e.AI] = e.Text
	}
	if len(bad) == 0 && !slices.ContainsFunc(list, func(e Element) bool { return e.AI != "" }) {
		bad = refused("label-unknown", finding.Value{Name: "got", Text: printable(list[0].Text)})
	}
	if len(bad) > 0 {
		return nil, bad
	}
	return [][]Element{list}, nil
}

// wrong says why the value does not fit its identifier, "" when it does.
func (e Element) wrong(today unit.Date) string {
	k := kinds[e.AI]
	switch {
	case e.AI == "":
		return ""
	case k.fixed > 0 && len(e.Text) < k.fixed || e.Text == "":
		return "label-cut"
	case k.fixed == 0 && len(e.Text) > k.most:
		return "label-value-long"
	case k.digit && !digits(e.Text):
		return "label-digits"
	case e.AI == "01" && !validProduct(e.Text):
		return "label-check-digit"
	}
	if _, _, ok := date(e.Text, today); k.date && !ok {
		return "label-date"
	}
	return ""
}

// separated takes a string apart at its separators. What begins with an
// identifier that is not known stays whole up to the next separator.
func separated(s string) (list []Element) {
	for _, chunk := range strings.Split(s, gs) {
		for chunk != "" {
			ai := identifier(chunk)
			if ai == "" {
				list = append(list, Element{Text: chunk})
				break
			}
			rest, k := chunk[len(ai):], kinds[ai]
			n := len(rest)
			if k.fixed > 0 {
				n = min(n, k.fixed)
			}
			list, chunk = append(list, Element{ai, rest[:n]}), rest[n:]
		}
	}
	return list
}

// bracketed takes apart what is printed under the code: (01)…(17)…(10)….
func bracketed(s string) (list []Element, is bool) {
	for s != "" {
		end := strings.IndexByte(s, ')')
		if s[0] != '(' || end < 0 || identifier(s[1:end]) != s[1:end] || end == 1 {
			return nil, false
		}
		ai := s[1:end]
		s = s[end+1:]
		next := len(s)
		for i := range s {
			if _, more := bracketed1(s[i:]); more {
				next = i
				break
			}
		}
		list, s = append(list, Element{ai, strings.Trim(s[:next], gs+" ")}), s[next:]
	}
	return list, len(list) > 0
}

// bracketed1 reports whether s begins with a known identifier in brackets.
func bracketed1(s string) (ai string, is bool) {
	end := strings.IndexByte(s, ')')
	if s[0] != '(' || end < 2 {
		return "", false
	}
	ai = s[1:end]
	return ai, identifier(ai) == ai
}

func refused(code string, values ...finding.Value) finding.Refusals {
	return finding.Refusals{{Code: code, Field: "label", Values: values}}
}

// printable shows control signs and bounds the length.
func printable(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' {
			return '␀' + r
		}
		return r
	}, s)
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}
