package web

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"linn/finding"
	"linn/internal/pathway"
	"linn/unit"
)

// OwnRisks is what the record says of capsule rupture beside the model.
type OwnRisks struct {
	Editable bool
	Revision int
	List     []pathway.OwnRisk
}

// OwnRiskForm accepts it for one technique, or takes it back.
type OwnRiskForm struct {
	Revision       int
	Technique      string
	Back           bool
	By, On, Reason string
}

// OwnRiskPage is the page of the Desk.
type OwnRiskPage struct {
	Frame
	Editable bool
	Revision int
	Rows     []OwnRiskRow
	Form     OwnRiskForm
	Refused  []string
}

// OwnRiskRow is one technique.
type OwnRiskRow struct {
	Key, Name, Count, Rate, Model, Against, Shift, Accepted, None string
	May, Back                                                     bool
}

func (a *ward) OwnRisks(ctx context.Context, by Actor) (OwnRisks, error) {
	list, l, err := a.Pathway.OwnRisks(ctx, actorOf(by))
	return OwnRisks{pathway.May(pathway.Role(by.Role), pathway.VerbProtocol), l.Number, list}, said(err)
}

func (a *ward) AcceptRisk(ctx context.Context, by Actor, f OwnRiskForm) error {
	return said(a.Pathway.AcceptRisk(ctx, actorOf(by), pathway.RiskForm{Seen: f.Revision, Technique: f.Technique, Back: f.Back, By: f.By, On: f.On, Reason: f.Reason}))
}

func (s *server) ownRisk(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.ownRiskPage(w, r, by, OwnRiskForm{}, nil)
}

func (s *server) ownRiskPage(w http.ResponseWriter, r *http.Request, by Actor, f OwnRiskForm, refused finding.Refusals) error {
	o, err := s.Pathway.OwnRisks(r.Context(), by)
	if err != nil {
		return err
	}
	v := OwnRiskPage{Frame: s.frame(r, by, s.t("ownrisk.heading"), "desk"), Editable: o.Editable, Revision: o.Revision, Form: f, Refused: s.refusalText(refused)}
	for i := range o.List {
		v.Rows = append(v.Rows, s.ownRiskRow(&o.List[i]))
	}
	status := http.StatusOK
	if refused != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "ownrisk", "page", v)
}

func (s *server) ownRiskRow(o *pathway.OwnRisk) OwnRiskRow {
	percent := func(v float64) string { return unit.Fixed(100*v, 2) + unit.Thin + "%" }
	row := OwnRiskRow{Key: o.Technique, Name: s.t("ownrisk.technique." + o.Technique), Count: s.t("ownrisk.count", "events", o.Count.Events, "of", o.Count.Of), Rate: "–", Model: "–", Against: s.t("ownrisk.few"), Shift: s.t("ownrisk.few")}
	if o.Count.Of > 0 {
		row.Rate = s.t("ownrisk.rate", "rate", percent(float64(o.Count.Events)/float64(o.Count.Of)), "low", percent(o.Rate.Low), "high", percent(o.Rate.High))
		row.Model = percent(o.Expected / float64(o.Count.Of))
	}
	if !o.FewToSay {
		row.Against = s.t("ownrisk.ratio", "ratio", unit.Fixed(o.Against.Rate, 2), "low", unit.Fixed(o.Against.Low, 2), "high", unit.Fixed(o.Against.High, 2))
	}
	if o.Shift.Known {
		row.Shift, row.May = unit.Signed(o.Shift.Value, 3), true
	}
	row.None = s.t("ownrisk.none")
	if o.Technique != "phaco" {
		row.None = s.t("ownrisk.none.unpublished")
	}
	if a := o.Accepted; a != nil {
		row.Back = true
		row.Accepted = s.t("ownrisk.accepted", "shift", unit.Signed(a.Shift, 3), "events", a.Events, "of", a.Of, "by", a.By, "on", a.On)
	}
	return row
}

func (s *server) acceptRisk(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	f := OwnRiskForm{Revision: revision(r), Technique: get("technique"), By: get("by"), On: get("on"), Reason: get("reason")}
	if back := get("back"); back != "" {
		f.Technique, f.Back = back, true
	}
	err := s.Pathway.AcceptRisk(r.Context(), by, f)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.ownRiskPage(w, r, by, f, refused)
	}
	if err == nil {
		s.to(w, r, "/desk/risk")
	}
	return err
}
