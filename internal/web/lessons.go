package web

import (
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"linn/internal/pathway"
	"linn/unit"
)

// LessonsView is the list of lessons.
type LessonsView struct {
	Frame
	Lessons []BenchEntry
}

// NotebookView is one operation, step by step.
type NotebookView struct {
	Frame
	Heading, Lead string
	All           Link
	Steps         []LessonStepView
}

// LessonStepView is one step as it is read.
type LessonStepView struct {
	ID, Of, Name string
	Drawing      template.HTML
	Parts        []LessonPartView
	Plays        []Link
}

// LessonPartView is one part of a step.
type LessonPartView struct {
	Key, Name string
	Lines     []string
}

func (s *server) lessons(w http.ResponseWriter, r *http.Request, by Actor) error {
	v := LessonsView{Frame: s.frame(r, by, s.t("place.lessons"), "lessons")}
	for _, o := range pathway.Operations {
		v.Lessons = append(v.Lessons, BenchEntry{s.prefix + "/lessons/" + string(o), s.t("lessons.operation." + string(o)), s.t("lessons.operation." + string(o) + ".lead")})
	}
	v.Lessons = append(v.Lessons, BenchEntry{s.prefix + "/lessons/questions", s.t("lessons.questions"), s.t("lessons.questions.lead")})
	return s.render(w, http.StatusOK, "lessons", "page", v)
}

func (s *server) notebook(w http.ResponseWriter, r *http.Request, by Actor) error {
	o := pathway.Operation(r.PathValue("operation"))
	if !slices.Contains(pathway.Operations, o) {
		return errNowhere
	}
	name := s.t("lessons.operation." + string(o))
	v := NotebookView{Frame: s.frame(r, by, s.t("lessons.notebook", "operation", name), "lessons"), Heading: name, Lead: s.t("lessons.operation." + string(o) + ".lead"),
		All: Link{Href: s.prefix + "/lessons", Text: s.t("lessons.all")}}
	steps := pathway.LessonSteps(o)
	for i, step := range steps {
		v.Steps = append(v.Steps, s.lessonStep(o, step, s.t("lessons.step", "n", i+1, "of", len(steps))))
	}
	return s.render(w, http.StatusOK, "notebook", "page", v)
}

func (s *server) lessonStep(o pathway.Operation, step pathway.LessonStep, of string) LessonStepView {
	v := LessonStepView{ID: step.Key, Of: of, Name: s.t("lesson.step." + step.Key)}
	if step.Drawing != "" {
		v.Drawing = s.lessonDrawing(step.Key, step.Drawing)
	}
	for _, p := range pathway.LessonParts {
		if step.Has(p) {
			v.Parts = append(v.Parts, LessonPartView{string(p), s.t("lesson.part." + string(p)), strings.Split(s.t(step.Text(o, p)), " | ")})
		}
	}
	for _, p := range step.Plays {
		href := s.prefix + "/bench/" + p.Page
		if p.Page == "" {
			href = s.prefix
		}
		v.Plays = append(v.Plays, Link{Href: href + p.Query, Text: s.t("lesson.play." + p.Words)})
	}
	return v
}

// QuestionsView is a paper, its form and its answers.
type QuestionsView struct {
	Frame
	All       Link
	Seed      string
	Count     string
	Kinds     []Option
	Levels    []Option
	Topics    []Option
	Refused   []string
	Questions []QuestionView
	Reproduce string
	Key       Link
	Paper     Link
	Answers   bool // the answer sheet
	Score     string
}

// QuestionView is one question as it is printed.
type QuestionView struct {
	ID, Name, Level, Text, Unit string
	Choices                     []Option
	Typed, Answer, Said         string
	Slips                       []LessonPartView
	Right                       bool
}

// paperForm is what a paper is made from.
type paperForm struct {
	seed     uint64
	n, level int
	topic    string
	kind     string // choice, number
}

func (s *server) paperForm(q url.Values) (f paperForm, refused []string) {
	f = paperForm{seed: 1, n: 10, level: 3, topic: q.Get("topic"), kind: "choice"}
	whole := func(key string, at *int, low, high int) {
		text := q.Get(key)
		if text == "" {
			return
		}
		n, err := strconv.Atoi(text)
		if err != nil || n < low || n > high {
			refused = append(refused, s.t("questions.range", "what", s.t("questions."+key), "low", low, "high", high))
			return
		}
		*at = n
	}
	seed := 1
	whole("seed", &seed, 0, 999_999)
	whole("count", &f.n, 1, pathway.MostQuestions)
	whole("level", &f.level, 1, 3)
	f.seed = uint64(seed)
	if q.Get("kind") == "number" {
		f.kind = "number"
	}
	if f.topic != "" && !slices.ContainsFunc(pathway.Topics(3), func(t pathway.Topic) bool { return t.Key == f.topic }) {
		refused = append(refused, s.t("questions.no-topic"))
		f.topic = ""
	}
	return f, refused
}

func (f paperForm) query(more ...string) string {
	q := url.Values{"seed": {strconv.FormatUint(f.seed, 10)}, "count": {strconv.Itoa(f.n)}, "level": {strconv.Itoa(f.level)}, "topic": {f.topic}, "kind": {f.kind}}
	for i := 0; i+1 < len(more); i += 2 {
		q.Set(more[i], more[i+1])
	}
	return q.Encode()
}

func (s *server) questionPaper(w http.ResponseWriter, r *http.Request, by Actor) error {
	f, refused := s.paperForm(r.Form)
	paper, err := pathway.QuestionPaper(f.seed, f.n, f.topic, f.level)
	if err != nil {
		return err
	}
	here := s.prefix + "/lessons/questions?"
	v := QuestionsView{Frame: s.frame(r, by, s.t("questions.title"), "lessons"), All: Link{Href: s.prefix + "/lessons", Text: s.t("lessons.all")}, Refused: refused,
		Seed: strconv.FormatUint(f.seed, 10), Count: strconv.Itoa(f.n), Answers: r.Form.Get("answers") != "",
		Reproduce: s.t("questions.reproduce", "seed", f.seed, "n", f.n), Key: Link{Href: here + f.query("answers", "1"), Text: s.t("questions.key")}, Paper: Link{Href: here + f.query(), Text: s.t("questions.paper")}}
	for _, k := range []string{"choice", "number"} {
		v.Kinds = append(v.Kinds, Option{k, s.t("questions.kind." + k), k == f.kind})
	}
	for _, l := range []string{"1", "2", "3"} {
		v.Levels = append(v.Levels, Option{l, l, l == strconv.Itoa(f.level)})
	}
	v.Topics = []Option{{"", s.t("questions.topic.all"), f.topic == ""}}
	for _, t := range pathway.Topics(3) {
		v.Topics = append(v.Topics, Option{t.Key, s.t("topic." + t.Key), t.Key == f.topic})
	}
	right, asked := 0, false
	for i := range paper {
		q := s.questionView(&paper[i], i, f.kind, r.Form.Get("a"+strconv.Itoa(i+1)), v.Answers)
		if q.Right {
			right++
		}
		asked = asked || q.Typed != ""
		v.Questions = append(v.Questions, q)
	}
	if asked {
		v.Score = s.t("questions.score", "right", right, "of", len(paper))
	}
	status := http.StatusOK
	if len(refused) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "questions", "page", v)
}

func (s *server) questionView(q *pathway.Task, i int, kind, typed string, answers bool) QuestionView {
	var values []any
	for _, g := range q.Given {
		values = append(values, g.Name, g.Amount)
	}
	v := QuestionView{ID: "a" + strconv.Itoa(i+1), Name: s.t("questions.n", "n", i+1), Level: s.t("questions.level.is", "level", q.Level), Text: s.t("teach."+q.Topic, values...), Unit: q.Answer.Unit, Typed: typed}
	choices, place := q.Choices()
	if kind == "choice" {
		for k, c := range choices {
			v.Choices = append(v.Choices, Option{strconv.Itoa(k), c.String(), typed == strconv.Itoa(k)})
		}
	}
	if answers {
		v.Answer = q.Answer.String()
		for _, slip := range q.Slips {
			v.Slips = append(v.Slips, LessonPartView{slip.Name, s.t("slip." + slip.Name), []string{slip.Amount.String()}})
		}
	}
	if typed == "" {
		return v
	}
	got, err := unit.ParseNumber(typed)
	if k, whole := strconv.Atoi(typed); kind == "choice" && whole == nil && k >= 0 && k < len(choices) {
		got, err = choices[k].Value, nil
		v.Right = k == place
	} else if err == nil {
		v.Right = q.Right(got)
	}
	slip, known := q.Mistaken(got)
	switch {
	case err != nil:
		v.Said = s.t("questions.not-a-number")
	case v.Right:
		v.Said = s.t("questions.right")
	case known:
		v.Said = s.t("questions.slip", "why", s.t("slip."+slip))
	default:
		v.Said = s.t("questions.wrong")
	}
	return v
}
