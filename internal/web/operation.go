package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/pathway"
)

// OperationView is the form of the operation, for the circulating person.
type OperationView struct {
	Frame
	CaseID    string
	Revision  int
	Editable  bool
	Refused   []string
	Findings  []*Mark
	Planned   string // the lens of the plan, "" without one
	PlanPlace string
	Differs   bool
	Side      string // "right", "left"
	Steps     []OperationStep
	Done      string
	Missing   string
	MayAttach bool
	Attached  []AttachedView
	What      []Option
	Return    string
	Dirty     bool // the answer to a refused form: what was typed stands here
}

// OperationStep is one step of the operation.
type OperationStep struct {
	ID, Name string
	Main     []EntryView // what every note holds
	More     []EntryView
	MoreOpen bool
	Held     *HeldView
	Lens     bool
	Closing  bool
	Told     []ComplicationView
}

// HeldView is who held the instrument.
type HeldView struct {
	Name, Label, Who string
	Options          []Option
}

// ComplicationView is one row of the complications.
type ComplicationView struct {
	N, Nth                        string
	Steps, Kinds, Sizes, Vitreous []Option
	Handling                      []Option
	Note                          string
	Empty                         bool
}

// aside are the fields that stand behind "more": an ordinary operation does
// without them.
var aside = []string{"in_room", "out_of_room", "incision_meridian_deg", "incision_mm", "tunnel_from_limbus_mm", "side_ports", "pupil_device", "capsule_mm",
	"conversion", "conversion_why", "lens_label", "lens_axis_deg", "tension_ring", "sutures", "drugs", "fluid_lot", "viscoelastic_lot", "dye_lot", "drug_lot", "remarks"}

func (s *server) operation(w http.ResponseWriter, r *http.Request, by Actor) error {
	c, err := s.Pathway.Eye(r.Context(), by, r.PathValue("id"), "")
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "operation", "page", s.operationView(r, by, &c))
}

func (s *server) operationView(r *http.Request, by Actor, c *EyeCase) OperationView {
	a := &c.After
	v := OperationView{Frame: s.clinical(r, by, s.t("operation.heading"), c.Identity), CaseID: c.CaseID, Revision: c.Revision, Editable: a.MayOperate,
		Findings: s.findingLines(a.Findings), Side: string(c.Side), MayAttach: a.MayAttach, Return: s.prefix + "/case/" + c.CaseID + "#done"}
	v.Identity.Saved = s.t("saved.nothing")
	if !c.SavedAt.IsZero() {
		v.Identity.Saved = s.t("saved", "time", clock(c.SavedAt), "n", strconv.Itoa(c.Revision))
	}
	if p := a.Planned; p.HasLens {
		v.Planned = p.Model + " " + num(p.Power).String()
		place := p.Placement
		if place == "" {
			place = "bag"
		}
		v.PlanPlace = s.word("lens_place", place)
	}
	v.Differs = slices.ContainsFunc(a.Findings, func(f finding.Finding) bool { return f.Code == "operation-lens-differs" })
	if a.Done != nil {
		v.Done = s.t("operation.done", "name", a.Done.Name, "when", s.moment(a.Done.At))
	}
	v.Missing = s.missingText(a.Missing)
	for _, step := range pathway.OperationSteps {
		v.Steps = append(v.Steps, s.operationStep(step, a))
	}
	v.Attached, v.What = s.attachedViews(c), s.choices("attached.", pathway.AttachedWhat, "")
	return v
}

func (s *server) missingText(keys []string) string {
	var list []string
	for _, key := range keys {
		list = append(list, s.label(key))
	}
	return strings.Join(list, " · ")
}

// stepView is one step with its fields; those that something stands in are
// never hidden behind "more".
func (s *server) operationStep(step string, a *AfterPart) OperationStep {
	v := OperationStep{ID: "step-" + step, Name: s.t("step." + step + ".name"), Lens: step == "lens", Closing: step == "closure"}
	for i := range pathway.OperationFields {
		f := &pathway.OperationFields[i]
		if f.Step != step {
			continue
		}
		e := s.entry(f, a.Record.Values[f.Key], a.Read)
		e.Now = f.Kind == pathway.ClockField
		if slices.Contains(aside, f.Key) {
			v.More = append(v.More, e)
			v.MoreOpen = v.MoreOpen || e.Value != ""
			continue
		}
		v.Main = append(v.Main, e)
	}
	if slices.Contains(pathway.HeldSteps, step) {
		v.Held = s.heldView("hand."+step, s.t("operation.held"), a.Record.Hands[step], a)
	}
	if step == "theatre" {
		v.Held = s.heldView("hand.supervisor", s.t("operation.supervisor"), a.Record.Supervisor, a)
	}
	if v.Closing {
		for i, c := range append(slices.Clone(a.Record.Complications), pathway.Complication{}, pathway.Complication{}) {
			v.Told = append(v.Told, s.complicationView(i, c))
		}
	}
	return v
}

func (s *server) heldView(name, label, who string, a *AfterPart) *HeldView {
	h := &HeldView{Name: name, Label: label, Options: []Option{{Text: s.t("not-recorded"), Chosen: who == ""}}}
	for _, p := range a.People {
		o := Option{Value: p.ID, Text: s.t("frame.me", "name", p.Name, "role", s.t("role."+string(p.Role))), Chosen: p.ID == who}
		if o.Chosen {
			h.Who = p.Name
		}
		h.Options = append(h.Options, o)
	}
	if who != "" && h.Who == "" { // has left the Desk
		h.Who = who
		h.Options = append(h.Options, Option{Value: who, Text: who, Chosen: true})
	}
	return h
}

// choices are the words of a list; the first one is nothing.
func (s *server) choices(prefix string, list []string, chosen string) []Option {
	options := []Option{{Text: "–", Chosen: chosen == ""}}
	for _, w := range list {
		options = append(options, Option{Value: w, Text: s.t(prefix + w), Chosen: w == chosen})
	}
	return options
}

func (s *server) complicationView(i int, c pathway.Complication) ComplicationView {
	return ComplicationView{N: index(i), Nth: index(i + 1), Steps: s.choices("step.held.", pathway.HeldSteps, c.Step), Kinds: s.choices("complication.", pathway.ComplicationKinds, c.Kind),
		Sizes: s.choices("size.", pathway.Sizes, c.Size), Vitreous: s.choices("vitreous.", pathway.VitreousWords, c.Vitreous),
		Handling: s.choices("handling.", pathway.HandlingWords, c.Handling), Note: c.Note, Empty: c.Kind == ""}
}

// operate stores what was tapped and typed. Nothing is read here.
func (s *server) operate(w http.ResponseWriter, r *http.Request, by Actor) error {
	o, err := s.operating(r)
	if err != nil {
		return err
	}
	c, err := s.Pathway.Operate(r.Context(), by, o)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.operateRefused(w, r, by, &o, refused)
	}
	if err != nil {
		return err
	}
	if o.Done {
		s.to(w, r, "/case/"+c.CaseID+"#done")
		return nil
	}
	if partial(r) {
		return s.render(w, http.StatusOK, "operation", "changed", s.operationView(r, by, &c))
	}
	at := r.PostForm.Get("at")
	if !slices.ContainsFunc(pathway.OperationSteps, func(step string) bool { return "step-"+step == at }) {
		at = "main"
	}
	s.to(w, r, "/case/"+c.CaseID+"/operation#"+at)
	return nil
}

// operating reads the form.
func (s *server) operating(r *http.Request) (pathway.Operating, error) {
	o := pathway.Operating{Case: r.PathValue("id"), Seen: revision(r), Values: map[string]string{}, Hands: map[string]string{},
		Now: r.PostForm.Get("now"), Done: r.PostForm.Get("done") != "", Reason: r.PostForm.Get("reason")}
	for i := range pathway.OperationFields {
		key := pathway.OperationFields[i].Key
		if v, named := r.PostForm["v."+key]; named {
			o.Values[key] = v[0]
		}
	}
	for _, step := range pathway.HeldSteps {
		if v, named := r.PostForm["hand."+step]; named {
			o.Hands[step] = v[0]
		}
	}
	if v, named := r.PostForm["hand.supervisor"]; named {
		o.Supervisor = &v[0]
	}
	o.AsPlanned = r.PostForm.Get("as-planned") != ""
	if r.PostForm.Get("confirm") != "" {
		o.Confirm = &pathway.Whose{Name: r.PostForm.Get("confirm-name"), Side: r.PostForm.Get("confirm-side")}
	}
	var err error
	o.Complications, err = complicationsOf(r)
	return o, err
}

// mostComplications is more than any operation has.
const mostComplications = 40

func complicationsOf(r *http.Request) (list []pathway.Complication, err error) {
	if text, named := r.PostForm[allComplications]; named {
		list = []pathway.Complication{}
		if text[0] != "" && json.Unmarshal([]byte(text[0]), &list) != nil {
			return nil, errBadForm
		}
		return list, nil
	}
	for i := range mostComplications {
		get := func(what string) string { return r.PostForm.Get("c." + index(i) + "." + what) }
		if _, named := r.PostForm["c."+index(i)+".kind"]; !named {
			break
		}
		if list == nil {
			list = []pathway.Complication{}
		}
		list = append(list, pathway.Complication{Step: get("step"), Kind: get("kind"), Size: get("size"), Vitreous: get("vitreous"), Handling: get("handling"), Note: get("note")})
	}
	return list, nil
}

// operateRefused gives the form back as it was filled in, with the reasons.
func (s *server) operateRefused(w http.ResponseWriter, r *http.Request, by Actor, o *pathway.Operating, refused finding.Refusals) error {
	now, err := s.Pathway.Eye(r.Context(), by, o.Case, "")
	if err != nil {
		return err
	}
	now.After.Record = now.After.Record.Clone()
	for key, text := range o.Values {
		now.After.Record.Set(key, text)
	}
	for step, who := range o.Hands {
		now.After.Record.Hold(step, who)
	}
	if o.Complications != nil {
		now.After.Record.Complications = slices.DeleteFunc(o.Complications, func(c pathway.Complication) bool { return c.Kind == "" })
	}
	v := s.operationView(r, by, &now)
	v.Dirty, v.Revision = true, o.Seen
	for _, one := range refused {
		if one.Code == "operation-stop" {
			one.Values = finding.Values{{Name: "why", Text: s.stopText(one.Values.Get("why"), now.After.Findings)}}
		}
		v.Refused = append(v.Refused, s.refusalText(finding.Refusals{one})...)
	}
	part := "page"
	if partial(r) {
		part = "changed"
	}
	return s.render(w, http.StatusUnprocessableEntity, "operation", part, v)
}

// stopText is the sentence of a stop by its code.
func (s *server) stopText(code string, list []finding.Finding) string {
	for _, f := range list {
		if f.Code == code {
			return s.sentence(s.worded(f))
		}
	}
	return s.t("finding." + code)
}
