package main

var opticsRows = []formula{
	{name: "Power and radius of a surface", pkg: inOptics, names: []string{"SurfacePower", "SurfaceRadius"}, refs: practice("paraxial optics"),
		standsIn: "each undoes the other; through it every schematic eye below"},
	{name: "Vergence across a gap", pkg: inOptics, names: []string{"Gap.Step", "Gap.Back"}, refs: practice("paraxial optics"),
		standsIn: "each undoes the other; through it every schematic eye below"},
	{name: "Power and cardinal points of a centred system", pkg: inOptics, names: []string{"System.Cardinal", "System.Power", "System.Emerging", "System.VertexRefraction"}, refs: practice("paraxial optics"),
		checks: []string{"*/eye-*.txt", "derived/schematic-eyes.txt", "derived/four-surfaces.txt"}, standsIn: "schematic eyes from memory; a second implementation in another language"},
	{name: "Power and keratometric index of a cornea", pkg: inOptics, names: []string{"Cornea.Power", "Cornea.KeratometricIndex"}, constants: []string{"optics.index-cornea"}, refs: practice("thick-lens equation"),
		checks: []string{"*/cornea-*.txt"}, standsIn: "a second implementation in another language"},
	{name: "Radii of a lens from power and shape factor", pkg: inOptics, names: []string{"Shape.Radii"}, refs: practice("Coddington's shape factor"),
		checks: []string{"derived/lens-bending.txt"}, standsIn: "a second implementation in another language; the power of the radii found is the power asked for"},
	{name: "Thin-lens eye: power, refraction, position", pkg: inOptics, names: []string{"Thin.Power", "Thin.Refraction", "Thin.PositionFor", "Thin.AphakicRefraction"}, constants: []string{"optics.index-aqueous"}, refs: practice("vergence"),
		checks: []string{"published/sulcus-chart.txt", "derived/aphakic.txt", "derived/position.txt", "derived/thin-*.txt"}, standsIn: "a second implementation in another language; round trips"},
	{name: "Thick-lens eye: power and refraction", pkg: inOptics, names: []string{"Thick.Power", "Thick.Refraction"}, refs: practice("vergence through four surfaces"),
		checks: []string{"*/thick-*.txt"}, standsIn: "a second implementation in another language"},
	{name: "Refraction between spectacle plane and cornea", pkg: inOptics, names: []string{"ToCornea", "ToSpectacle"}, refs: practice("vertex distance"),
		standsIn: "each undoes the other; through it every lens method"},

	{name: "Spherical equivalent and transposition", pkg: inRefraction, names: []string{"AtSpectacle.Equivalent", "AtCornea.Equivalent", "AtSpectacle.Transpose", "AtCornea.Transpose"}, refs: practice("sphero-cylinders"),
		checks: []string{"derived/meridians.txt"}, standsIn: "transposing twice gives the same"},
	{name: "Refraction with cylinder between spectacle plane and cornea", pkg: inRefraction, names: []string{"AtSpectacle.ToCornea", "AtCornea.ToSpectacle", "EquivalentToCornea", "EquivalentToSpectacle"}, refs: practice("vertex distance, each meridian by itself"),
		checks: []string{"derived/vertex.txt", "derived/far-points.txt", "derived/meridians.txt"}, standsIn: "a second implementation in another language; each undoes the other"},
}
