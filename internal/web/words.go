package web

import (
	"fmt"
	"html/template"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"linn/eye"
	"linn/finding"
	"linn/internal/locale"
	"linn/unit"
)

// words makes text for people in one language.
type words struct{ lang locale.Language }

// t is the message under key; names and values alternate.
func (w words) t(key string, pairs ...any) string {
	var values finding.Values
	for i := 0; i+1 < len(pairs); i += 2 {
		values = append(values, finding.Value{Name: fmt.Sprint(pairs[i]), Text: fmt.Sprint(pairs[i+1])})
	}
	return locale.T(w.lang, key, values...)
}

// label is a contract key in words with a capital.
func (w words) label(key string) string { return capital(locale.Field(w.lang, key)) }

// sentence is what a finding says, with a capital.
func (w words) sentence(f finding.Finding) string { return capital(locale.Finding(w.lang, f)) }

func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// date writes a civil date with its weekday, at its precision.
func (w words) date(d unit.Date) string {
	switch {
	case !d.Known():
		return w.t("date.none")
	case d.Month == 0:
		return strconv.Itoa(d.Year)
	case d.Day == 0:
		return w.t("date.month", "month", w.t("month."+strconv.Itoa(d.Month)), "year", strconv.Itoa(d.Year))
	}
	at := time.Date(d.Year, time.Month(d.Month), d.Day, 0, 0, 0, 0, time.UTC)
	return w.t("date.day", "weekday", w.t("weekday."+strconv.Itoa(int(at.Weekday()))),
		"day", strconv.Itoa(d.Day), "month", w.t("month."+strconv.Itoa(d.Month)), "year", strconv.Itoa(d.Year))
}

// clock writes hours and minutes.
func clock(t time.Time) string { return t.Format("15:04") }

// moment writes a date and its clock time.
func (w words) moment(t time.Time) string {
	return w.t("date.moment", "date", w.date(unit.DateOf(t)), "time", clock(t))
}

// Num is a printed number: figure, unit and spread apart, so that the page
// can set them in different sizes.
type Num struct {
	Figure  string // "+21.50"
	Unit    string // "D"; "" for a pure number
	Spread  string // "±0.02"; "" when not recorded
	Missing string // words shown in its place
}

// String writes the number as one text.
func (n Num) String() string {
	if n.Missing != "" {
		return n.Missing
	}
	s := n.Figure
	if n.Spread != "" {
		s += unit.Thin + n.Spread
	}
	if n.Unit == "" || n.Unit == "°" {
		return s + n.Unit
	}
	return s + unit.Thin + n.Unit
}

// num splits what a unit type printed.
func num(q fmt.Stringer) Num { return numText(q.String()) }

func numText(s string) Num {
	if f, u, ok := strings.Cut(s, unit.Thin); ok {
		return Num{Figure: f, Unit: u}
	}
	if f, ok := strings.CutSuffix(s, "°"); ok {
		return Num{Figure: f, Unit: "°"}
	}
	return Num{Figure: s}
}

type quantity interface {
	unit.Quantity
	fmt.Stringer
}

// reading prints a Reading with its spread, or says that it is not recorded.
func reading[U quantity](w words, r unit.Reading[U]) Num {
	if !r.Known {
		return Num{Missing: w.t("not-recorded")}
	}
	n := num(r.Value)
	if r.SD > 0 {
		n.Spread = "±" + strings.TrimPrefix(num(r.SD).Figure, "+")
	}
	return n
}

// unsigned prints a corneal power, which carries no sign by custom.
func unsigned(w words, r unit.Reading[unit.Dioptre]) Num {
	n := reading(w, r)
	n.Figure = strings.TrimPrefix(n.Figure, "+")
	return n
}

// side writes RIGHT EYE or LEFT EYE.
func (w words) side(s eye.Side) string {
	switch s {
	case eye.Right:
		return w.t("side.right")
	case eye.Left:
		return w.t("side.left")
	}
	return w.t("side.none")
}

// funcs are what templates may call.
func (w words) funcs() template.FuncMap {
	return template.FuncMap{"t": w.t, "passing": passing, "rows": roundRows}
}
