package main

import (
	"fmt"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/locale"
)

// mostAlike is how many messages of one kind about one field are written;
// the others are counted. A file of noise gives a page, not a flood.
const mostAlike = 10

// complaints writes FILE:LINE:COLUMN: message for what was refused.
type complaints struct {
	app   *app
	file  string
	seen  map[string]int
	order []string
}

func newComplaints(a *app, file string) *complaints {
	if file == "-" {
		file = a.t("command.standard-input")
	}
	return &complaints{app: a, file: file, seen: map[string]int{}}
}

// tell writes one message, or counts it when there were many like it.
func (c *complaints) tell(r finding.Refusal) {
	kind := r.Code + "\x00" + r.Field
	if c.seen[kind]++; c.seen[kind] > mostAlike {
		if c.seen[kind] == mostAlike+1 {
			c.order = append(c.order, kind)
		}
		return
	}
	place := c.file
	if r.Line > 0 {
		place += ":" + strconv.Itoa(r.Line) + ":" + strconv.Itoa(max(r.Column, 1))
	}
	fmt.Fprintf(c.app.err, "%s: %s\n", place, locale.Refusal(c.app.lang, r))
}

// close says how many more there were of each kind.
func (c *complaints) close() {
	for _, kind := range c.order {
		code, field, _ := strings.Cut(kind, "\x00")
		key := "refused.more"
		if field == "" {
			key = "refused.more.row"
		}
		fmt.Fprintf(c.app.err, "%s: %s\n", c.file, c.app.t(key,
			finding.Value{Name: "n", Text: strconv.Itoa(c.seen[kind] - mostAlike)},
			finding.Value{Name: "code", Text: code}, finding.Value{Name: "field", Text: locale.Field(c.app.lang, field)}))
	}
}
