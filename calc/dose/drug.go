package dose

import (
	"slices"

	"linn/source"
	"linn/unit"
)

// Route is how a drug is given.
type Route string

// The routes.
const (
	Topical         Route = "topical"
	Intracameral    Route = "intracameral"
	SubTenon        Route = "sub-tenon"
	Peribulbar      Route = "peribulbar"
	Infiltration    Route = "infiltration"
	Subconjunctival Route = "subconjunctival"
	Intravitreal    Route = "intravitreal"
	Irrigation      Route = "irrigation"
	WoundHydration  Route = "wound-hydration"
	Intravenous     Route = "intravenous"
)

// volumes are what a route takes at most, in ml: more is a slip of the unit.
var volumes = map[Route]float64{Topical: 5, Intracameral: 1, SubTenon: 10, Peribulbar: 15, Infiltration: 20, Subconjunctival: 2, Intravitreal: 0.2,
	Irrigation: 10, WoundHydration: 2, Intravenous: 1000}

// Class groups drugs that add up or cross-react.
type Class string

// The classes.
const (
	LocalAnaesthetic Class = "local-anaesthetic"
	Cephalosporin    Class = "cephalosporin"
	Quinolone        Class = "quinolone"
	Glycopeptide     Class = "glycopeptide"
	Aminoglycoside   Class = "aminoglycoside"
	Sympathomimetic  Class = "sympathomimetic"
	Dye              Class = "dye"
	Steroid          Class = "steroid"
	Osmotic          Class = "osmotic"
)

// Aim is what the arithmetic of one route is held against.
type Aim struct {
	Amount        float64 // mg, 0: none
	Concentration float64 // mg/ml as it reaches the eye, 0: none
	Ref           source.Ref
}

// Drug is one drug the check knows.
type Drug struct {
	ID           string
	Class        Class
	Strengths    []unit.MilligramPerMillilitre // as sold, for the detection of swaps
	Usual        map[Route]unit.MilligramPerMillilitre
	Aims         map[Route]Aim
	Routes       []Route
	Displacement float64 // ml that 1 g of powder adds, 0: not known
}

func from(key source.Key, grade source.Grade, where string) source.Ref {
	return source.Ref{Key: key, Grade: grade, Where: where}
}

var practice = from(source.DrugPractice, source.Memory, "")

func declared(name, u string, v float64, ref source.Ref) float64 {
	return source.Declare(source.Constant{Name: "dose." + name, Value: v, Unit: u, Ref: ref})
}

func amount(name string, mg float64, ref source.Ref) Aim {
	return Aim{Amount: declared(name, "mg", mg, ref), Ref: ref}
}

func concentration(name string, v float64, ref source.Ref) Aim {
	return Aim{Concentration: declared(name, "mg/ml", v, ref), Ref: ref}
}

var blocks = []Route{Topical, Intracameral, SubTenon, Peribulbar, Infiltration}

// Drugs are the drugs the check knows, with the targets that stand in until a
// unit has approved its own.
var Drugs = []Drug{
	{ID: "lidocaine", Class: LocalAnaesthetic, Strengths: strengths(5, 10, 20, 40), Routes: blocks},
	{ID: "bupivacaine", Class: LocalAnaesthetic, Strengths: strengths(2.5, 5, 7.5), Routes: []Route{SubTenon, Peribulbar, Infiltration}},
	{ID: "levobupivacaine", Class: LocalAnaesthetic, Strengths: strengths(2.5, 5, 7.5), Routes: []Route{SubTenon, Peribulbar, Infiltration}},
	{ID: "ropivacaine", Class: LocalAnaesthetic, Strengths: strengths(2, 7.5, 10), Routes: []Route{SubTenon, Peribulbar, Infiltration}},
	{ID: "proparacaine", Class: LocalAnaesthetic, Strengths: strengths(5), Usual: usual(Topical, declared("proparacaine.usual", "mg/ml", 5, practice)), Routes: []Route{Topical}},
	{ID: "tetracaine", Class: LocalAnaesthetic, Strengths: strengths(5, 10), Usual: usual(Topical, declared("tetracaine.usual", "mg/ml", 10, practice)), Routes: []Route{Topical}},
	{ID: "oxybuprocaine", Class: LocalAnaesthetic, Strengths: strengths(4), Usual: usual(Topical, declared("oxybuprocaine.usual", "mg/ml", 4, practice)), Routes: []Route{Topical}},

	{ID: "cefuroxime", Class: Cephalosporin, Routes: []Route{Intracameral}, Displacement: declared("cefuroxime.displacement", "ml/g", 0.75, practice),
		Aims: aim(Intracameral, amount("cefuroxime.intracameral", 1, from(source.CefuroximePrepare, source.Read, "1 mg in 0.1 ml")))},
	{ID: "moxifloxacin", Class: Quinolone, Strengths: strengths(5, 1), Routes: []Route{Intracameral, WoundHydration},
		Aims: aim(Intracameral, amount("moxifloxacin.intracameral", 0.5, from(source.MoxifloxacinUse, source.Secondary, "0.5 mg")))},
	{ID: "vancomycin", Class: Glycopeptide, Routes: []Route{Intravitreal, Intracameral},
		Aims: aim(Intravitreal, amount("vancomycin.intravitreal", 1, practice))},
	{ID: "ceftazidime", Class: Cephalosporin, Routes: []Route{Intravitreal}, Displacement: declared("ceftazidime.displacement", "ml/g", 0.87, practice),
		Aims: aim(Intravitreal, amount("ceftazidime.intravitreal", 2.25, practice))},
	{ID: "gentamicin", Class: Aminoglycoside, Strengths: strengths(40), Routes: []Route{Subconjunctival}},
	{ID: "amikacin", Class: Aminoglycoside, Routes: []Route{Intravitreal, Subconjunctival}},
	{ID: "tobramycin", Class: Aminoglycoside, Routes: []Route{Subconjunctival}},

	{ID: "adrenaline", Class: Sympathomimetic, Strengths: strengths(1, 0.1), Routes: []Route{Irrigation, Intracameral},
		Aims: aim(Irrigation, concentration("adrenaline.irrigation", 0.001, from(source.DrugPractice, source.Memory, "0.5 ml of 1 in 1000 in 500 ml")))},
	{ID: "phenylephrine", Class: Sympathomimetic, Strengths: strengths(15, 25, 100), Routes: []Route{Intracameral, Topical, Irrigation}},
	{ID: "trypan-blue", Class: Dye, Routes: []Route{Intracameral},
		Aims: aim(Intracameral, concentration("trypan-blue.intracameral", 0.6, from(source.VanDooren2002, source.Read, "0.06 %")))},
	{ID: "dexamethasone", Class: Steroid, Strengths: strengths(4), Routes: []Route{Subconjunctival, Intravitreal},
		Aims: aim(Subconjunctival, amount("dexamethasone.subconjunctival", 2, practice))},
	{ID: "triamcinolone", Class: Steroid, Strengths: strengths(40), Routes: []Route{Intracameral, Subconjunctival}},
	{ID: "mannitol", Class: Osmotic, Strengths: strengths(100, 200), Routes: []Route{Intravenous}},
}

func strengths(list ...unit.MilligramPerMillilitre) []unit.MilligramPerMillilitre { return list }

func usual(r Route, mgPerMl float64) map[Route]unit.MilligramPerMillilitre {
	return map[Route]unit.MilligramPerMillilitre{r: unit.MilligramPerMillilitre(mgPerMl)}
}

func aim(r Route, a Aim) map[Route]Aim { return map[Route]Aim{r: a} }

// DrugNamed returns the drug with the id, nil when there is none.
func DrugNamed(id string) *Drug {
	for i := range Drugs {
		if Drugs[i].ID == id {
			return &Drugs[i]
		}
	}
	return nil
}

// Names lists the ids of the drugs.
func Names() (list []string) {
	for i := range Drugs {
		list = append(list, Drugs[i].ID)
	}
	return list
}

func (d *Drug) takes(r Route) bool { return slices.Contains(d.Routes, r) }
