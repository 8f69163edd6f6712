package web

import (
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/locale"
	"linn/unit"
)

// benchPage is one page of the Bench. A page without play has a route of its
// own and stands here to be listed.
type benchPage struct {
	key     string // of the address and of "bench.KEY…" messages
	model   bool   // headed: reference model, not your machine
	knobs   []knob
	presets []preset
	play    func(s *server, in *played) benchAnswer
}

// benchPages lists the Bench in the order of its index.
func benchPages() []benchPage {
	return []benchPage{
		{"chamber", true, chamberKnobs(), chamberPresets, (*server).playChamber},
		{"envelope", true, envelopeKnobs(), nil, (*server).playEnvelope},
		{"happening", true, happeningKnobs(), happeningPresets(), (*server).playHappening},
		{"tip", false, tipKnobs, tipPresets, (*server).playTip},
		{"claims", false, claimKnobs, claimPresets, (*server).playClaims},
		{"burn", true, burnKnobs, burnPresets, (*server).playBurn},
		{"nucleus", true, nucleusKnobs(), nucleusPresets, (*server).playNucleus},
		{"power", false, powerKnobs, powerPresets, (*server).playPower},
		{"pack", false, packKnobs, packPresets, (*server).playPack},
		{"session", false, sessionKnobs, sessionPresets, (*server).playSession},
		{"old-rules", false, oldRulesKnobs, oldRulesPresets, (*server).playOldRules},
		{key: "meridians"},
		{"lens-maker", false, lensMakerKnobs, lensMakerPresets, (*server).playLensMaker},
		{"rays", false, raysKnobs(), nil, (*server).playRays},
	}
}

// knob is one number or word that can be set.
type knob struct {
	key            string
	unit           string
	low, high      float64 // outside is refused
	from, to, step float64 // of the slider; no slider when step is 0
	usual          string
	words          []string // to choose from, in place of a number
	more           bool     // stands among the rarer ones
	may            bool     // may be left empty
}

// preset is a set of knobs with a name: "bench.PAGE.preset.NAME".
type preset struct {
	name  string
	knobs map[string]string
}

// played is a page's form as it was sent.
type played struct {
	page    *benchPage
	typed   map[string]string
	query   url.Values
	part    bool // the page's script asks for the answer alone
	refused finding.Refusals
}

// number reads a knob; what is refused is kept and reads as its usual value.
func (p *played) number(key string) unit.Reading[unit.Ratio] {
	k := p.page.knob(key)
	text := p.typed[key]
	if text == "" {
		if k.may {
			return unit.Reading[unit.Ratio]{}
		}
		text = k.usual
	}
	v, err := unit.Parse[unit.Ratio](text, k.key, k.unit, unit.Bounds{Low: k.low, High: k.high})
	if err != nil {
		f := eye.Field{Key: k.key, Unit: k.unit, Bounds: unit.Bounds{Low: k.low, High: k.high}, Number: true}
		p.refused = append(p.refused, f.Refusal(err))
		v, err = unit.Parse[unit.Ratio](k.usual, k.key, k.unit, unit.Bounds{Low: k.low, High: k.high})
		if err != nil {
			return unit.Reading[unit.Ratio]{}
		}
	}
	return unit.Known(v)
}

// value reads a knob that always has one.
func (p *played) value(key string) float64 { return float64(p.number(key).Value) }

// word is the chosen word of a knob, its usual one when another was sent.
func (p *played) word(key string) string {
	k := p.page.knob(key)
	if w := p.typed[key]; slices.Contains(k.words, w) {
		return w
	}
	return k.usual
}

func (b *benchPage) knob(key string) knob {
	for _, k := range b.knobs {
		if k.key == key {
			return k
		}
	}
	panic("web: no knob " + key) // the pages' own tables
}

// benchAnswer is what a page answers to its knobs.
type benchAnswer struct {
	refused  finding.Refusals
	figures  []benchFigure
	rows     []BenchRow
	tables   []BenchTable
	findings []finding.Finding
	notes    []string
	next     string // address of the part that is still worked out
	progress string
}

// benchFigure is one picture, wide and for a phone.
type benchFigure struct {
	name         string // of the file
	wide, narrow *drawing
	says         string
}

// BenchRow is one number with the reason for it.
type BenchRow struct{ Name, Value, Why string }

// BenchTable is a table of printed values.
type BenchTable struct {
	Title, How string
	Head       []string
	Rows       [][]string
}

// BenchView is a page of the Bench.
type BenchView struct {
	Frame
	Key, Lead, Heading string
	Model              string
	Presets            []Link
	Knobs, More        []KnobView
	Answer             BenchAnswerView
	Bench              Link
}

// KnobView is a knob as the form shows it.
type KnobView struct {
	ID, Name, Label, Unit, Value string
	Options                      []Option
	Slider                       bool
	From, To, Step, At           string
	Bad                          bool
}

// BenchAnswerView is the answer as the page shows it.
type BenchAnswerView struct {
	Refused  []string
	Findings []FindingView
	Figures  []FigureView
	Rows     []BenchRow
	Tables   []BenchTable
	Notes    []string
	Next     string
	Progress string
	Stop     string
}

// FigureView is a picture with what it says and where to take it along.
type FigureView struct {
	ID           string
	Wide, Narrow template.HTML
	Says         string
	SVG          string
}

// BenchIndex is the list of the pages.
type BenchIndex struct {
	Frame
	Pages []BenchEntry
}

// BenchEntry is one page in the index.
type BenchEntry struct{ Href, Name, Lead string }

func (s *server) bench(w http.ResponseWriter, r *http.Request, by Actor) error {
	v := BenchIndex{Frame: s.frame(r, by, s.t("place.bench"), "bench")}
	for _, b := range benchPages() {
		v.Pages = append(v.Pages, BenchEntry{s.prefix + "/bench/" + b.key, s.t("bench." + b.key), s.t("bench." + b.key + ".lead")})
	}
	return s.render(w, http.StatusOK, "bench", "page", v)
}

// play reads the form of a page.
func (s *server) played(r *http.Request) (*played, error) {
	for _, b := range benchPages() {
		if b.key == r.PathValue("page") && b.play != nil {
			p := &played{page: &b, typed: map[string]string{}, query: r.URL.Query(), part: partial(r)}
			for _, k := range b.knobs {
				text := strings.TrimSpace(r.Form.Get(k.key))
				if _, sent := r.Form[k.key]; !sent {
					text = k.usual
				}
				p.typed[k.key] = text
			}
			return p, nil
		}
	}
	return nil, errNowhere
}

func (s *server) benchPlay(w http.ResponseWriter, r *http.Request, by Actor) error {
	p, err := s.played(r)
	if err != nil {
		return err
	}
	answer := p.page.play(s, p)
	answer.refused = append(p.refused, answer.refused...)
	v := BenchView{Frame: s.frame(r, by, s.t("bench."+p.page.key), "bench"), Key: p.page.key, Heading: s.t("bench." + p.page.key),
		Lead: s.t("bench." + p.page.key + ".lead"), Bench: Link{Href: s.prefix + "/bench", Text: s.t("bench.all")}}
	if p.page.model {
		v.Model = s.t("bench.model")
	}
	for _, pr := range p.page.presets {
		v.Presets = append(v.Presets, Link{Href: s.prefix + "/bench/" + p.page.key + "?" + p.page.query(pr.knobs), Text: s.t("bench." + p.page.key + ".preset." + pr.name)})
	}
	for _, k := range p.page.knobs {
		kv := s.knobView(k, p.typed[k.key], answer.refused)
		if k.more {
			v.More = append(v.More, kv)
		} else {
			v.Knobs = append(v.Knobs, kv)
		}
	}
	v.Answer = s.benchAnswer(p, &answer)
	status, part := http.StatusOK, "page"
	if partial(r) {
		part = "answer"
	}
	if len(answer.refused) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "play", part, v)
}

// query writes knobs as an address, those not named at their usual value.
func (b *benchPage) query(knobs map[string]string) string {
	q := url.Values{}
	for _, k := range b.knobs {
		text, named := knobs[k.key]
		if !named {
			text = k.usual
		}
		q.Set(k.key, text)
	}
	return q.Encode()
}

func (s *server) knobView(k knob, typed string, refused finding.Refusals) KnobView {
	v := KnobView{ID: "knob-" + k.key, Name: k.key, Label: s.label(k.key), Unit: k.unit, Value: typed,
		Bad: slices.ContainsFunc(refused, func(r finding.Refusal) bool { return r.Field == k.key })}
	if k.words != nil {
		for _, word := range k.words {
			v.Options = append(v.Options, Option{word, s.t("word." + k.key + "." + word), word == typed})
		}
		return v
	}
	if k.step > 0 {
		plain := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
		at := typed
		if n, err := unit.ParseNumber(typed); err == nil {
			at = plain(n)
		}
		v.Slider, v.From, v.To, v.Step, v.At = true, plain(k.from), plain(k.to), plain(k.step), at
	}
	return v
}

func (s *server) benchAnswer(p *played, a *benchAnswer) BenchAnswerView {
	v := BenchAnswerView{Refused: s.refusalText(a.refused), Rows: a.rows, Tables: a.tables, Notes: a.notes, Next: a.next, Progress: a.progress}
	if len(a.refused) > 0 {
		return BenchAnswerView{Refused: v.Refused}
	}
	if v.Next != "" {
		v.Next = s.prefix + v.Next
		v.Stop = s.t("bench.stop")
	}
	for i, f := range a.findings {
		v.Findings = append(v.Findings, FindingView{ID: "said-" + strconv.Itoa(i), Class: f.Severity.String(), Word: locale.Severity(s.lang, f.Severity), Text: s.sentence(f)})
	}
	q := url.Values{}
	for key, text := range p.typed {
		q.Set(key, text)
	}
	for _, f := range a.figures {
		q.Set("figure", f.name)
		v.Figures = append(v.Figures, FigureView{ID: f.name, Wide: f.wide.html(), Narrow: f.narrow.html(), Says: f.says,
			SVG: s.prefix + "/bench/" + p.page.key + "/figure.svg?" + q.Encode()})
	}
	return v
}

// benchFigureFile answers one figure as a file that stands alone, with the
// parameters it was made from.
func (s *server) benchFigureFile(w http.ResponseWriter, r *http.Request, _ Actor) error {
	p, err := s.played(r)
	if err != nil {
		return err
	}
	a := p.page.play(s, p)
	if a.refused = append(p.refused, a.refused...); len(a.refused) > 0 {
		return a.refused
	}
	for _, f := range a.figures {
		if f.name != r.Form.Get("figure") {
			continue
		}
		lines := []string{s.t("bench." + p.page.key)}
		if p.page.model {
			lines = append(lines, s.t("bench.model"))
		}
		w.Header().Set("Content-Type", "image/svg+xml")
		w.Header().Set("Content-Disposition", `attachment; filename="linn-`+p.page.key+"-"+f.name+`.svg"`)
		_, err := w.Write([]byte(f.wide.alone(append(lines, s.parameters(p)...))))
		return err
	}
	return errNowhere
}

// parameters says in words what a figure was made from, two to a line.
func (s *server) parameters(p *played) (lines []string) {
	var all []string
	for _, k := range p.page.knobs {
		text := p.typed[k.key]
		switch {
		case text == "":
			continue
		case k.words != nil:
			text = s.t("word." + k.key + "." + text)
		case k.unit != "":
			text += unit.Thin + k.unit
		}
		all = append(all, locale.Field(s.lang, k.key)+" "+text)
	}
	for part := range slices.Chunk(all, 2) {
		lines = append(lines, strings.Join(part, " · "))
	}
	return lines
}
