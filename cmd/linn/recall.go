package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/internal/store"
)

// recallCommand lists what a recalled thing touched.
type recallCommand struct {
	Program  string `help:"${help_recall_program}" placeholder:"VERSION"`
	Method   string `help:"${help_recall_method}" placeholder:"NAME"`
	Version  string `help:"${help_recall_version}" placeholder:"VERSION"`
	Lens     string `help:"${help_recall_lens}" placeholder:"MODEL"`
	Constant string `help:"${help_recall_constant}" placeholder:"KEY"`
	Value    string `help:"${help_recall_value}" placeholder:"NUMBER"`
	Device   string `help:"${help_recall_device}" placeholder:"NAME"`
	Lot      string `help:"${help_recall_lot}" placeholder:"LOT"`
	Names    bool   `help:"${help_recall_names}"`
	JSON     bool   `help:"${help_json}"`
	where
}

func (c *recallCommand) Run(a *app) (err error) {
	s, err := c.settled(a)
	if err != nil {
		return err
	}
	record, err := c.opened(a, s)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, record.Close()) }()
	path := &pathway.Pathway{Store: record, Clock: clockIn(time.Local), Program: programVersion()}
	list, err := path.RecallUnattended(a.ctx, pathway.RecallQuery{Program: c.Program, Method: c.Method, Version: c.Version,
		Lens: c.Lens, Constant: c.Constant, Value: c.Value, Device: c.Device, Lot: c.Lot}, c.Names)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return usageError(strings.TrimSuffix(locale.Refusal(a.lang, refused[0]), "."))
	}
	if err != nil {
		return err
	}
	if c.JSON {
		return a.json(recalled(list))
	}
	return a.tellRecall(list)
}

// opened opens the record to read. Names are noted in the access log, and for
// that no other program may be writing the folder.
func (c *recallCommand) opened(a *app, s *settings) (pathway.Store, error) {
	if !c.Names || s.DB != "" {
		return s.openToRead(a)
	}
	return openFolder(a, s.Data, store.Options{})
}

// recallAnswer is linn.recall/1.
type recallAnswer struct {
	Format  string        `json:"format"`
	Touched []recalledRow `json:"touched"`
}

type recalledRow struct {
	Case       string   `json:"case"`
	Side       string   `json:"side"`
	Revision   int      `json:"revision"`
	At         string   `json:"at"`
	What       string   `json:"what"` // signed-plan or eye
	Sheet      *int     `json:"sheet"`
	ListDate   *string  `json:"list_date"`
	InForce    bool     `json:"in_force"`
	Operated   bool     `json:"operated"`
	Where      []string `json:"where"`
	Name       string   `json:"name,omitempty"`
	Identifier string   `json:"identifier,omitempty"`
}

func recalled(list []pathway.Touched) recallAnswer {
	answer := recallAnswer{Format: "linn.recall/1", Touched: []recalledRow{}}
	for _, x := range list {
		row := recalledRow{Case: x.Case, Side: string(x.Side), Revision: x.Revision, At: x.At.Format(time.RFC3339), What: "eye",
			InForce: x.InForce, Operated: x.Operated, Where: x.Where}
		if x.Signed {
			row.What, row.Sheet = "signed-plan", &x.Sheet
			if date := x.List.String(); date != "" {
				row.ListDate = &date
			}
		}
		if x.Who != nil {
			row.Name, row.Identifier = x.Who.Name, x.Who.Identifier
		}
		answer.Touched = append(answer.Touched, row)
	}
	return answer
}

// tellRecall prints one line a plan or eye.
func (a *app) tellRecall(list []pathway.Touched) error {
	plans, operated := 0, map[string]bool{}
	tab := tabwriter.NewWriter(a.out, 0, 0, 3, ' ', 0)
	for i, x := range list {
		if i == 0 {
			fmt.Fprintln(tab, a.t("recall.head"))
		}
		what := a.t("recall.eye")
		if x.Signed {
			plans++
			what = a.t("recall.plan", value("sheet", strconv.Itoa(x.Sheet)), value("list", x.List.String()))
		}
		state := a.t("recall.past")
		if x.InForce {
			state = a.t("recall.now")
		}
		if x.Operated {
			operated[x.Case] = true
			state += ", " + a.t("recall.operated")
		}
		who := "–"
		switch {
		case x.Who != nil:
			who = x.Who.Name + " " + x.Who.Identifier
		case x.NameGone:
			who = a.t("recall.erased")
		}
		fmt.Fprintln(tab, strings.Join([]string{x.Case, a.t("side." + string(x.Side)), strconv.Itoa(x.Revision), what, state, strings.Join(x.Where, ", "), who}, "\t"))
	}
	if err := tab.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(a.out, a.t("recall.sum", value("plans", strconv.Itoa(plans)), value("eyes", strconv.Itoa(len(operated))), value("rows", strconv.Itoa(len(list)))))
	return nil
}
