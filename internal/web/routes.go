package web

import (
	"net/http"
	"slices"
)

// route is one line of the table of contents.
type route struct {
	pattern string
	page    page
	open    bool // reachable without an account
}

// page answers one request; by is the zero Actor on open routes.
type page func(w http.ResponseWriter, r *http.Request, by Actor) error

// routes lists every page and form.
func (s *server) routes() []route {
	return slices.Concat(s.placeRoutes(), s.caseRoutes(), s.afterRoutes(), s.benchRoutes(), s.doorRoutes())
}

// placeRoutes are the ward, the lists, the Shelf and the Desk.
func (s *server) placeRoutes() []route {
	return []route{
		{pattern: "GET /{$}", page: s.home},
		{pattern: "GET /ward", page: s.ward},
		{pattern: "GET /list/{day}", page: s.day},
		{pattern: "POST /list/{day}/pack", page: s.dayPack},
		{pattern: "POST /list/{day}/print", page: s.dayPrint},
		{pattern: "GET /shelf", page: s.shelf},
		{pattern: "POST /shelf/model", page: s.addModel},
		{pattern: "POST /shelf/stock", page: s.stock},
		{pattern: "GET /shelf/machine", page: s.machine},
		{pattern: "POST /shelf/machine", page: s.addMachine},
		{pattern: "GET /desk", page: s.desk},
		{pattern: "POST /desk/person", page: s.addPerson},
		{pattern: "POST /desk/person/{id}", page: s.changePerson},
		{pattern: "GET /desk/protocol", page: s.protocol},
		{pattern: "POST /desk/protocol", page: s.settleProtocol},
		{pattern: "GET /desk/doses", page: s.doseRules},
		{pattern: "POST /desk/doses", page: s.settleDoses},
		{pattern: "GET /desk/risk", page: s.ownRisk},
		{pattern: "POST /desk/risk", page: s.acceptRisk},
		{pattern: "GET /desk/log", page: s.accessLog},
		{pattern: "POST /desk/person/{id}/invite", page: s.invite},
		{pattern: "GET /desk/glass", page: s.glasses},
		{pattern: "POST /desk/glass/{id}", page: s.reviewGlass},
		{pattern: "GET /desk/merge", page: s.mergeForm},
		{pattern: "POST /desk/merge", page: s.merge},
		{pattern: "GET /desk/erase", page: s.eraseForm},
		{pattern: "POST /desk/erase", page: s.erase},
		{pattern: "GET /desk/verify", page: s.verifyForm},
		{pattern: "POST /desk/verify", page: s.verify},
	}
}

// caseRoutes are everything about one eye up to the sheet.
func (s *server) caseRoutes() []route {
	return []route{
		{pattern: "GET /case/new", page: s.newCase},
		{pattern: "POST /case/new", page: s.startCase},
		{pattern: "GET /case/{id}", page: s.eye},
		{pattern: "POST /case/{id}/readings", page: s.measure},
		{pattern: "POST /case/{id}/repeats", page: s.repeat},
		{pattern: "POST /case/{id}/pass", page: s.pass},
		{pattern: "POST /case/{id}/lens", page: s.choose},
		{pattern: "POST /case/{id}/phases", page: s.phases},
		{pattern: "POST /case/{id}/confirm", page: s.confirm},
		{pattern: "POST /case/{id}/sign", page: s.sign},
		{pattern: "POST /case/{id}/list", page: s.list},
		{pattern: "POST /case/{id}/reopen", page: s.reopen},
		{pattern: "POST /case/{id}/close", page: s.closeCase},
		{pattern: "GET /case/{id}/person", page: s.personOf},
		{pattern: "POST /case/{id}/person", page: s.correctPerson},
		{pattern: "GET /case/{id}/cornea", page: s.cornea},
		{pattern: "GET /case/{id}/marks", page: s.markSheet},
		{pattern: "POST /case/{id}/cornea", page: s.incise},
		{pattern: "GET /case/{id}/history", page: s.caseHistory},
		{pattern: "GET /case/{id}/correct", page: s.correctForm},
		{pattern: "POST /case/{id}/correct", page: s.correct},
		{pattern: "GET /case/{id}/move", page: s.moveForm},
		{pattern: "POST /case/{id}/move", page: s.move},
		{pattern: "GET /patient/{id}/history", page: s.patientHistory},
		{pattern: "GET /case/{id}/decided", page: s.decided},
		{pattern: "GET /case/{id}/drugs", page: s.drugs},
		{pattern: "POST /case/{id}/care/findings", page: s.record},
		{pattern: "POST /case/{id}/care/decide", page: s.record},
		{pattern: "POST /case/{id}/care/consent", page: s.record},
		{pattern: "POST /case/{id}/care/mark", page: s.record},
		{pattern: "POST /case/{id}/care/list", page: s.record},
		{pattern: "POST /case/{id}/care/drugs", page: s.record},
		{pattern: "POST /case/{id}/care/check", page: s.record},
		{pattern: "GET /case/{id}/sheet", page: s.sheet},
		{pattern: "GET /case/{id}/sheet.pdf", page: s.sheetPDF},
		{pattern: "GET /case/{id}/optics", page: s.optics},
		{pattern: "GET /case/{id}/glass", page: s.glassForm},
		{pattern: "POST /case/{id}/glass", page: s.breakGlass},
	}
}

// afterRoutes are the operation and what comes after.
func (s *server) afterRoutes() []route {
	return []route{
		{pattern: "GET /case/{id}/operation", page: s.operation},
		{pattern: "POST /case/{id}/operation", page: s.operate},
		{pattern: "GET /case/{id}/visit", page: s.visit},
		{pattern: "POST /case/{id}/visit", page: s.followUp},
		{pattern: "POST /case/{id}/lost", page: s.giveUp},
		{pattern: "POST /case/{id}/bed", page: s.bed},
		{pattern: "POST /case/{id}/again", page: s.openAgain},
		{pattern: "POST /case/{id}/file", page: s.attach},
		{pattern: "GET /case/{id}/file/{n}", page: s.file},
		{pattern: "POST /case/{id}/file/{n}", page: s.detach},
		{pattern: "GET /case/{id}/leaflet", page: s.leaflet},
		{pattern: "GET /case/{id}/leaflet.pdf", page: s.leafletPDF},
		{pattern: "GET /round", page: s.round},
	}
}

// benchRoutes are arithmetic and physics that belong to nobody.
func (s *server) benchRoutes() []route {
	return []route{
		{pattern: "GET /seen.png", page: s.seen},
		{pattern: "GET /bench", page: s.bench},
		{pattern: "GET /bench/{page}", page: s.benchPlay},
		{pattern: "GET /bench/{page}/figure.svg", page: s.benchFigureFile},
		{pattern: "GET /bench/meridians", page: s.meridians},
		{pattern: "GET /lessons", page: s.lessons},
		{pattern: "GET /lessons/questions", page: s.questionPaper},
		{pattern: "GET /lessons/{operation}", page: s.notebook},
	}
}

// doorRoutes are who is there, and what anybody may ask for.
func (s *server) doorRoutes() []route {
	return []route{
		{pattern: "GET /me", page: s.me},
		{pattern: "POST /me/password", page: s.changeOwnPassword},
		{pattern: "POST /me/pin", page: s.setPIN},
		{pattern: "POST /me/session", page: s.endSession},
		{pattern: "POST /me/everywhere", page: s.endEverywhere},
		{pattern: "POST /lock", page: s.lock},
		{pattern: "POST /here", page: s.here},
		{pattern: "GET /sign-in", page: s.signInPage, open: true},
		{pattern: "POST /sign-in", page: s.signIn, open: true},
		{pattern: "POST /sign-out", page: s.signOut, open: true},
		{pattern: "POST /unlock", page: s.unlock, open: true},
		{pattern: "GET /invitation/{token}", page: s.welcome, open: true},
		{pattern: "POST /invitation/{token}", page: s.accept, open: true},
		{pattern: "GET /start", page: s.startPage, open: true},
		{pattern: "POST /start", page: s.start, open: true},
		{pattern: "POST /be", page: s.be, open: true},
		{pattern: "POST /theme", page: s.theme, open: true},
		{pattern: "GET /static/{sum}/{name...}", page: s.static, open: true},
	}
}

// mux leads every address to its page.
func (s *server) mux() *http.ServeMux {
	mux := http.NewServeMux()
	for _, r := range s.routes() {
		mux.Handle(r.pattern, s.handle(r))
	}
	mux.Handle("/", s.handle(route{page: s.nowhere, open: true}))
	return mux
}

// New makes the handler of all pages without accounts behind it: the gallery
// and tests bring their own. A ward's is made by [Workbench].
func New(o Options) (http.Handler, error) {
	s, err := newServer(o)
	if err != nil {
		return nil, err
	}
	mux := s.mux()
	if o.Gallery {
		mux.Handle("/gallery/", http.StripPrefix("/gallery", galleryHandler(o)))
	}
	return s.guard(mux), nil
}
