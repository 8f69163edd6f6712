package teach

// Operation is a way to take a cataract out.
type Operation string

// The operations that are taught.
const (
	Phaco  Operation = "phaco"
	Manual Operation = "manual"
)

// Operations in the order of the notebook.
var Operations = []Operation{Phaco, Manual}

// Part is one kind of thing a step says: a key for locale.
type Part string

// Parts of a step, in the order they are read.
const (
	Purpose     Part = "purpose"
	Instruments Part = "instruments"
	How         Part = "how"
	End         Part = "end"
	Danger      Part = "danger"
	Variants    Part = "variants"
	Differs     Part = "differs" // where teaching and guidance differ
	Record      Part = "record"
)

// Parts in their order.
var Parts = []Part{Purpose, Instruments, How, End, Danger, Variants, Differs, Record}

// Play is a page of the Bench with its settings, that shows the numbers of a
// step: words is a key for locale.
type Play struct{ Words, Page, Query string }

// Step is one step of an operation. Its texts stand in locale under
// "lesson.OPERATION.STEP.PART", those of a step that both operations share
// under "lesson.both.STEP.PART".
type Step struct {
	Key     string
	Shared  bool
	Drawing string // name of a drawing, "" none
	May     []Part // of Variants and Differs, those it has
	Plays   []Play
}

// Has says whether a step has a part: all have the main ones.
func (s Step) Has(p Part) bool {
	if p != Variants && p != Differs {
		return true
	}
	for _, x := range s.May {
		if x == p {
			return true
		}
	}
	return false
}

// Text is the key of a part's text.
func (s Step) Text(o Operation, p Part) string {
	owner := string(o)
	if s.Shared {
		owner = "both"
	}
	return "lesson." + owner + "." + s.Key + "." + string(p)
}

var (
	ready     = Step{Key: "ready", Shared: true, May: []Part{Differs}}
	numb      = Step{Key: "numb", Shared: true, May: []Part{Variants, Differs}, Plays: []Play{{"block", "", "/lessons/questions?topic=block-volume"}}}
	sideport  = Step{Key: "sideport", Shared: true, Drawing: "sideport"}
	gel       = Step{Key: "gel", Shared: true, May: []Part{Variants, Differs}}
	cortex    = Step{Key: "cortex", Shared: true, May: []Part{Variants}, Plays: []Play{{"chamber", "chamber", ""}}}
	washout   = Step{Key: "washout", Shared: true}
	afterward = Step{Key: "after", Shared: true, May: []Part{Differs}}
)

// Steps of an operation in the order they are done.
func Steps(o Operation) []Step {
	switch o {
	case Phaco:
		return []Step{
			ready, numb, sideport, gel,
			{Key: "incision", Drawing: "incision", May: []Part{Variants}, Plays: []Play{{"meridians", "meridians", ""}}},
			{Key: "capsulorhexis", Drawing: "capsulorhexis", May: []Part{Variants}},
			{Key: "hydrodissection", Drawing: "hydrodissection"},
			{Key: "nucleus", Drawing: "nucleus", May: []Part{Variants}, Plays: []Play{{"chamber", "chamber", ""}, {"tip", "tip", ""}, {"burn", "burn", ""}, {"nucleus", "nucleus", ""}}},
			cortex,
			{Key: "lens", Drawing: "lens", May: []Part{Variants}},
			washout,
			{Key: "close"},
			afterward,
		}
	case Manual:
		return []Step{
			ready, numb,
			{Key: "conjunctiva"},
			{Key: "tunnel", Drawing: "tunnel", May: []Part{Variants}, Plays: []Play{{"meridians", "meridians", ""}}},
			sideport, gel,
			{Key: "capsule", Drawing: "capsulorhexis", May: []Part{Variants}},
			{Key: "entry"},
			{Key: "prolapse", Drawing: "hydrodissection"},
			{Key: "delivery", May: []Part{Variants}},
			cortex,
			{Key: "lens", Drawing: "lens"},
			washout,
			{Key: "close"},
			afterward,
		}
	}
	return nil
}
