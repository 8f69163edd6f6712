package web

import (
	"context"
	"io"
	"net/http"
	"slices"

	"linn/internal/pathway"
)

// GalleryPage is one canned page.
type GalleryPage struct {
	Name string // the canned case, first part of the path
	Path string // of the page within it
}

// URL is where the page is served.
func (p GalleryPage) URL() string { return "/gallery/" + p.Name + p.Path }

// GalleryPages lists every page of the gallery, for review and tests.
func GalleryPages() (list []GalleryPage) {
	for _, c := range galleryCases() {
		list = append(list, GalleryPage{c.name, c.path})
	}
	return list
}

// galleryView is the gallery's own list.
type galleryView struct {
	Frame
	Pages []Link
}

// galleryHandler serves the real pages over canned answers, without a store.
func galleryHandler(o Options) http.Handler {
	mux := http.NewServeMux()
	list := &canned{}
	s, err := newServer(Options{Pathway: list, Access: list, Language: o.Language, Log: o.Log})
	if err != nil {
		panic("web: gallery: " + err.Error()) // the same pages parsed a moment ago
	}
	var pages []Link
	for _, c := range galleryCases() {
		of := *s // the same templates, another answer
		of.Options = Options{Pathway: c.canned, Access: c.canned, Language: s.Language, Version: o.Version, Log: s.Log, Watch: c.watch, prefix: "/gallery/" + c.name}
		mux.Handle("/"+c.name+"/", http.StripPrefix("/"+c.name, of.mux()))
		pages = append(pages, Link{Href: of.prefix + c.path, Text: c.name})
	}
	mux.Handle("/", s.handle(route{open: true, page: func(w http.ResponseWriter, r *http.Request, by Actor) error {
		return s.render(w, http.StatusOK, "gallery", "page", galleryView{s.frame(r, by, s.t("gallery"), ""), pages})
	}}))
	return mux
}

// canned answers every call with what it was given; nothing is stored.
type canned struct {
	cannedChain
	cannedKeys
	who      Actor
	people   []Actor
	empty    bool
	ward     Ward
	eye      EyeCase
	sheet    Sheet
	cornea   CorneaCase
	shelf    Shelf
	desk     Desk
	person   PersonForm
	protocol Protocol
	care     CarePart
	doses    DoseRules
	risks    OwnRisks
	log      []LogLine
	rounds   pathway.Round
	phone    string
	optics   EyeOptics
	failure  error
	watch    Watch
}

func (c *canned) Ward(context.Context, Actor) (Ward, error)                   { return c.ward, c.failure }
func (c *canned) StartCase(context.Context, Actor, NewCase) (string, error)   { return "c1", c.failure }
func (c *canned) Eye(context.Context, Actor, string, string) (EyeCase, error) { return c.eye, nil }
func (c *canned) Optics(context.Context, Actor, string, pathway.WhatIf) (EyeOptics, error) {
	return c.optics, c.failure
}
func (c *canned) May(Actor, Deed) bool                                      { return true }
func (c *canned) List(context.Context, Actor, Listing) (EyeCase, error)     { return c.eye, c.failure }
func (c *canned) Reopen(context.Context, Actor, Reopening) (EyeCase, error) { return c.eye, c.failure }
func (c *canned) Close(context.Context, Actor, Closing) error               { return c.failure }
func (c *canned) Print(context.Context, Actor, string, io.Writer) error     { return ErrNotFound }
func (c *canned) Repeat(_ context.Context, _ Actor, m Measurement) (EyeCase, error) {
	return c.eye, c.failure
}
func (c *canned) Pass(context.Context, Actor, Pass) (EyeCase, error)     { return c.eye, c.failure }
func (c *canned) Choose(context.Context, Actor, Choice) (EyeCase, error) { return c.eye, c.failure }
func (c *canned) SetPhases(context.Context, Actor, PhaseForm) (EyeCase, error) {
	return c.eye, c.failure
}
func (c *canned) Confirm(context.Context, Actor, Confirmation) (EyeCase, error) {
	return c.eye, c.failure
}
func (c *canned) Sign(context.Context, Actor, Signing) (EyeCase, error) { return c.eye, c.failure }
func (c *canned) Sheet(context.Context, Actor, string) (Sheet, error)   { return c.sheet, c.failure }
func (c *canned) Cornea(context.Context, Actor, string) (CorneaCase, error) {
	return c.cornea, nil
}
func (c *canned) Incise(context.Context, Actor, IncisionForm) error           { return c.failure }
func (c *canned) Shelf(context.Context, Actor) (Shelf, error)                 { return c.shelf, c.failure }
func (c *canned) AddModel(context.Context, Actor, NewModel) error             { return c.failure }
func (c *canned) Stock(context.Context, Actor, StockChange) error             { return c.failure }
func (c *canned) AddMachine(context.Context, Actor, MachineForm) error        { return c.failure }
func (c *canned) Desk(context.Context, Actor) (Desk, error)                   { return c.desk, c.failure }
func (c *canned) AddPerson(context.Context, Actor, NewPerson) (string, error) { return "p9", c.failure }
func (c *canned) ChangePerson(context.Context, Actor, PersonChange) error     { return c.failure }

func (c *canned) Person(context.Context, Actor, string) (PersonForm, error) {
	return c.person, c.failure
}
func (c *canned) CorrectPerson(context.Context, Actor, PersonForm) error { return c.failure }
func (c *canned) Protocol(context.Context, Actor) (Protocol, error)      { return c.protocol, nil }
func (c *canned) SetProtocol(context.Context, Actor, Protocol) error     { return c.failure }
func (c *canned) AccessLog(context.Context, Actor, LogQuery) ([]LogLine, bool, error) {
	return c.log, len(c.log) > 0, c.failure
}

// Measure shows what was typed, so that the form can be tried.
func (c *canned) Measure(_ context.Context, _ Actor, m Measurement) (EyeCase, error) {
	if c.failure != nil {
		return EyeCase{}, c.failure
	}
	e := c.eye
	e.Revision, e.SavedAt = m.Revision+1, galleryTime
	for _, side := range bothSides {
		r := e.Of(side)
		*r = readTexts(side, m.Eyes[side])
	}
	return e, nil
}

func (c *canned) Who(*http.Request) (Actor, bool) { return c.who, c.who.ID != "" }
func (c *canned) SignIn(http.ResponseWriter, *http.Request, string, string) error {
	return ErrWrongPassword
}
func (c *canned) SignOut(http.ResponseWriter, *http.Request) error          { return nil }
func (c *canned) Empty(context.Context) (bool, error)                       { return c.empty, nil }
func (c *canned) First(http.ResponseWriter, *http.Request, NewPerson) error { return c.failure }
func (c *canned) Demo(*http.Request) []Actor                                { return slices.Clone(c.people) }
func (c *canned) Vouch(http.ResponseWriter, *http.Request, string, string) (Actor, error) {
	return Actor{}, ErrWrongPassword
}
func (c *canned) Be(http.ResponseWriter, *http.Request, string) error { return nil }

// galleryCase is one canned case with the page to look at.
type galleryCase struct {
	name, path string
	*canned
}

func onWard(name string, c *canned) galleryCase { return galleryCase{name, "/ward", c} }
func onEye(name string, c *canned) galleryCase  { return galleryCase{name, "/case/c1", c} }

func galleryCases() []galleryCase {
	signed, long := averageSheet(), averageSheet()
	unsigned := averageSheet()
	unsigned.Signed, unsigned.Confirmed, unsigned.Number, unsigned.Mark, unsigned.Identity.Signed = nil, nil, "", "", false
	unsigned.Open = []Blocker{{"not-entered-twice", "axial_length_mm"}, {"second-person", ""}}
	long.Identity.Name, long.Identity.Identifier = longestName, longestIdentifier
	long.Model, long.Allergies, long.Alone = longestModel, []string{"penicillin", "povidone-iodine (blistering)", "latex", "sulfonamides"}, "night duty, island without a second clinician; read back aloud twice"
	long.Phases = longestPhases()
	long.Asked, long.Alerts = true, append(long.Alerts, long.Alerts...)
	return slices.Concat(careCases(), galleryAfter(), galleryUnusual(), corneaCases(), chainCases(), keyCases(), []galleryCase{
		onWard("ward", &canned{who: surgeonLark, ward: fullWard()}),
		onWard("ward-empty", &canned{who: surgeonLark, ward: Ward{Today: fullWard().Today}}),
		onWard("ward-demo", &canned{who: technicianBay, people: galleryPeople, ward: fullWard()}),
		onWard("ward-backup-stale", &canned{who: surgeonLark, ward: fullWard(), watch: cannedWatch{}}),
		{"ward-filtered", "/ward?q=left+caution", &canned{who: surgeonLark, ward: fullWard()}},
		{"ward-no-match", "/ward?q=nobody", &canned{who: surgeonLark, ward: fullWard()}},
		{"new", "/case/new", &canned{who: technicianBay}},
		onEye("eye-empty", &canned{who: technicianBay, eye: emptyEye()}),
		onEye("eye-average", &canned{who: surgeonLark, eye: averageEye()}),
		onEye("eye-second-person", &canned{who: nurseReed, eye: secondPersonEye()}),
		onEye("eye-signed", &canned{who: surgeonLark, eye: signedEye()}),
		onEye("eye-two-stops", &canned{who: technicianBay, eye: stopsEye()}),
		onEye("eye-missing-value", &canned{who: surgeonLark, eye: missingEye()}),
		onEye("eye-longest", &canned{who: surgeonLark, eye: longestEye()}),
		onEye("eye-read-only", &canned{who: Actor{"a", "Olu Marsh", Auditor}, eye: readOnlyEye()}),
		{"sheet", "/case/c1/sheet", &canned{who: surgeonLark, sheet: signed}},
		{"sheet-not-signed", "/case/c1/sheet", &canned{who: surgeonLark, sheet: unsigned}},
		{"sheet-longest", "/case/c1/sheet", &canned{who: surgeonLark, sheet: long}},
		{"bench", "/bench", &canned{who: surgeonLark}},
		{"bench-chamber", "/bench/chamber", &canned{who: surgeonLark}},
		{"bench-chamber-refused", "/bench/chamber?vacuum_limit_mmhg=4000", &canned{who: surgeonLark}},
		{"bench-envelope", "/bench/envelope", &canned{who: surgeonLark}},
		{"bench-happening", "/bench/happening", &canned{who: surgeonLark}},
		{"bench-happening-air", "/bench/happening?happening=air", &canned{who: surgeonLark}},
		{"bench-tip", "/bench/tip", &canned{who: surgeonLark}},
		{"bench-claims", "/bench/claims", &canned{who: surgeonLark}},
		{"bench-burn", "/bench/burn", &canned{who: surgeonLark}},
		{"bench-nucleus", "/bench/nucleus", &canned{who: surgeonLark}},
		{"bench-power", "/bench/power", &canned{who: surgeonLark}},
		{"lessons", "/lessons", &canned{who: surgeonLark}},
		{"lesson-phaco", "/lessons/phaco", &canned{who: surgeonLark}},
		{"lesson-manual", "/lessons/manual", &canned{who: surgeonLark}},
		{"questions", "/lessons/questions?seed=7&count=6&a1=0&a2=1&a3=2", &canned{who: surgeonLark}},
		{"questions-typed", "/lessons/questions?seed=7&count=4&kind=number&a1=x&a2=3", &canned{who: surgeonLark}},
		{"questions-key", "/lessons/questions?seed=7&count=6&answers=1", &canned{who: surgeonLark}},
		{"bench-pack", "/bench/pack", &canned{who: surgeonLark}},
		{"bench-session", "/bench/session?consumables=40&consumables_other=14&fixed=3000&fixed_other=1200", &canned{who: surgeonLark}},
		{"optics", "/case/c1/optics", &canned{who: surgeonLark, optics: galleryOptics(23.41)}},
		{"optics-short", "/case/c1/optics", &canned{who: surgeonLark, optics: galleryOptics(20)}},
		{"optics-long", "/case/c1/optics", &canned{who: surgeonLark, optics: galleryOptics(31)}},
		{"optics-tilted", "/case/c1/optics?lens_tilt_deg=8&lens_shift_mm=0.4", &canned{who: surgeonLark, optics: galleryTilted()}},
		{"optics-cone", "/case/c1/optics", &canned{who: surgeonLark, optics: galleryCone()}},
		{"optics-none", "/case/c1/optics", &canned{who: technicianBay, optics: galleryOptics(0)}},
		{"lens-maker", "/bench/lens-maker", &canned{who: surgeonLark}},
		{"error-lens-maker", "/bench/lens-maker?power=x&index=1.41&optic=7.5", &canned{who: surgeonLark}},
		{"rays", "/bench/rays?eye=liou-brennan&pupil=5", &canned{who: surgeonLark}},
		{"shelf", "/shelf", &canned{who: administratorFen, shelf: fullShelf()}},
		{"shelf-empty", "/shelf", &canned{who: administratorFen, shelf: Shelf{Editable: true}}},
		{"machine", "/shelf/machine", &canned{who: surgeonLark}},
		{"desk", "/desk", &canned{who: administratorFen, desk: fullDesk()}},
		{"person", "/case/c1/person", &canned{who: technicianBay, eye: averageEye(), person: galleryPerson()}},
		{"protocol", "/desk/protocol", &canned{who: surgeonLark, protocol: galleryProtocol(true)}},
		{"protocol-read-only", "/desk/protocol", &canned{who: nurseReed, protocol: galleryProtocol(false)}},
		{"log", "/desk/log", &canned{who: Actor{"a", "Olu Marsh", Auditor}, desk: fullDesk(), log: galleryLog()}},
		{"log-empty", "/desk/log", &canned{who: administratorFen, desk: fullDesk()}},
		{"sign-in", "/sign-in", &canned{}},
		{"start", "/start", &canned{empty: true}},
		{"error-missing", "/nowhere", &canned{who: surgeonLark}},
		{"error-forbidden", "/desk", &canned{who: technicianBay, failure: ErrForbidden}},
		{"conflict", "/ward", &canned{who: technicianBay, eye: averageEye(), failure: galleryConflict()}},
	})
}

// The longest texts a page must hold.
var (
	longestName       = "Wilhelmina-Konstantina Abernathy-Featherstonehaugh de la Roche-Villeneuve"
	longestIdentifier = "NORTH-ISLES-2026-0000418-B"
	longestModel      = "Tarn Aspheric Three-Piece Preloaded 6.25 Extended Range"
)
