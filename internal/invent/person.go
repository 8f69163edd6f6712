package invent

import (
	"fmt"
	"math/rand/v2"

	"linn/eye"
	"linn/unit"
)

// Person is an invented patient.
type Person struct {
	Given, Family string
	Identifier    string // H-0001 …, unique within one ward
	Sex           eye.Sex
	Born          unit.Date // often only the year, as on many wards
	Allergies     []string  // empty: asked, none known
	Drugs         []string  // that matter to the operation; empty: asked, none
}

// Name is the full name as it is printed.
func (p Person) Name() string { return p.Given + " " + p.Family }

// The names are put together from sounds and belong to no language.
var (
	womanNames  = []string{"Amrelle", "Bethava", "Celindra", "Doriane", "Elvanne", "Fennola", "Ghisane", "Haldis", "Ineva", "Jorelle", "Kessia", "Liruna", "Marvenna", "Noreth", "Ovelle", "Pernessa", "Quilla", "Rosmira", "Sunniva", "Tavelle"}
	manNames    = []string{"Aldric", "Brennor", "Corvan", "Dunstane", "Edrik", "Farrow", "Gavril", "Hollis", "Istvar", "Jorund", "Kelmar", "Lorcan", "Merrik", "Norvin", "Osmer", "Perrin", "Ruskell", "Sorley", "Tormund", "Ulvar"}
	familyNames = []string{"Abernake", "Brackwater", "Calloway-Holm", "Dunmarrow", "Eskerling", "Farholm", "Greysand", "Havenmoor", "Inchwater", "Kelpstone", "Larkness", "Marrowick", "Netherby-Voe", "Orrisdale", "Quernstone", "Rookhaven", "Saltmarsh", "Tidewell", "Underskerry", "Wrackline"}
	allergens   = []string{"penicillin", "iodine", "latex", "sulphonamides"}
)

func pick[T any](r *rand.Rand, list []T) T { return list[r.IntN(len(list))] }

// person invents a patient of the given age on a day.
func person(r *rand.Rand, number, age int, on unit.Date) Person {
	p := Person{Family: pick(r, familyNames), Identifier: identifier(number), Sex: eye.Female, Given: pick(r, womanNames)}
	if r.IntN(2) == 0 {
		p.Sex, p.Given = eye.Male, pick(r, manNames)
	}
	p.Born = born(age, on)
	if r.IntN(4) > 0 { // the day is known in three of four
		p.Born = addDays(p.Born, -r.IntN(365))
	} else {
		p.Born = unit.Date{Year: p.Born.Year}
	}
	if r.IntN(8) == 0 {
		p.Allergies = []string{pick(r, allergens)}
	}
	return p
}

func identifier(number int) string { return fmt.Sprintf("H-%04d", number) }

// born is the birthday of someone who completes the age on the day.
func born(age int, on unit.Date) unit.Date {
	on.Year -= age
	if on.Month == 2 && on.Day == 29 {
		on.Day = 28
	}
	return on
}
