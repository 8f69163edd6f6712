package invent

// Hospital is the invented hospital of the demonstration.
type Hospital struct {
	Name, Island string
	Theatre      string
	Phone        string // of the eye ward; a number set aside for fiction
	Staff        []Member
}

// Member is one invented person of the staff. Role is a role word of the
// Desk; Supervisor marks a surgeon who may pass gates and countersign.
type Member struct {
	Name       string
	Role       string
	Supervisor bool
}

// DemoHospital is a small hospital on an island that is on no map.
func DemoHospital() Hospital {
	return Hospital{Name: "Skerravoe District Hospital", Island: "Skerravoe", Theatre: "Eye theatre", Phone: "01632 960 118", Staff: []Member{
		{"Liruna Saltmarsh", "technician", false},
		{"Perrin Wrackline", "technician", false},
		{"Kessia Inchwater", "trainee", false},
		{"Corvan Eskerling", "surgeon", true},
		{"Noreth Quernstone", "surgeon", false},
		{"Haldis Marrowick", "nurse", false},
		{"Osmer Tidewell", "nurse", false},
		{"Quilla Netherby-Voe", "counsellor", false},
		{"Tormund Larkness", "auditor", false},
		{"Ineva Rookhaven", "administrator", false},
	}}
}
