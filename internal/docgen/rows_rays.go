package main

import "linn/source"

const anotherLanguage = "a second implementation in another language"

// raysRows are exact rays, waves, images and the lens itself.
var raysRows = []formula{
	{name: "Astigmatic vergence as a matrix", pkg: inOptics, names: []string{"Parts.Matrix", "Astigmatic.Parts", "Astigmatic.Plus", "Astigmatic.Minus", "Astigmatic.Step", "Astigmatic.Back", "Train.Needs", "Pseudophakic.Refraction"}, refs: practice("vergence with 2×2 matrices"),
		checks: []string{"derived/toric-thick.txt"}, standsIn: anotherLanguage + "; turning an eye turns its axes; exact rays through a small pupil"},
	{name: "Cardinal points with gradients", pkg: inOptics, names: []string{"Train.Cardinal"}, refs: practice("paraxial optics"),
		checks: []string{"*/eyes-*.txt", "published/eye-le-grand-accommodated.txt", "published/atchison-refraction.txt", "derived/graded-and-conic-eyes.txt"}, standsIn: anotherLanguage},
	{name: "Exact rays through conics, torics and gradients", pkg: inOptics, names: []string{"NewTrain", "Train.Trace", "Train.TraceBundle", "Train.Reversed", "Train.Way", "Ray.OnPlane", "Profile.Sag", "Round", "Sphere"}, refs: []source.Ref{{Key: source.CommonPractice, Where: "Snell's law in vector form", Grade: source.Memory}, {Key: source.Sharma1982, Where: "d²r/dτ² = n·∇n", Grade: source.Memory}},
		checks: []string{"derived/exact-rays.txt", "derived/graded-rays.txt", "derived/toric-rays.txt"}, standsIn: anotherLanguage + "; rays go back; a stigmatic cornea; Prentice's rule for a shifted lens"},
	{name: "Foci of a bundle", pkg: inOptics, names: []string{"Train.FanOf", "Traced.SpotAt", "Traced.SmallestSpot"}, refs: practice("geometrical optics"),
		checks: []string{"derived/best-focus.txt"}, standsIn: anotherLanguage},
	{name: "Wave error, Zernike modes, refraction from them", pkg: inOptics, names: []string{"Mode.At", "Mode.Number", "ModeNumbered", "Traced.WavefrontAt", "Traced.BestWavefront", "Wavefront.Of", "Wavefront.At", "Wavefront.RMS", "Wavefront.Refraction", "Eye.Wavefront", "Pseudophakic.Residual"},
		refs:   []source.Ref{{Key: source.ThibosZernike, Grade: source.Memory}, {Key: source.Thibos2004, Grade: source.Memory}},
		checks: []string{"derived/spherical-aberration.txt", "derived/lens-with-cornea.txt"}, standsIn: anotherLanguage + "; modes are orthonormal; the matrices through a small pupil"},
	{name: "Point spread, contrast transfer, blurred image, through focus", pkg: inOptics, names: []string{"Wavefront.PointSpread", "PointSpread.Transfer", "PointSpread.Binned", "PointSpread.Blur", "Pseudophakic.ThroughFocus"}, refs: practice("Fourier optics"),
		standsIn: "no light is lost; the closed form of a clear pupil; the transform of a general library; a point becomes the point spread"},
	{name: "Schematic eyes", pkg: inOptics, names: []string{"SchematicEyes", "SchematicEyeNamed", "SchematicEye.Train", "Atchison"},
		refs:   []source.Ref{{Key: source.Navarro1985, Grade: source.Memory}, {Key: source.EscuderoNavarro1999, Grade: source.Memory}, {Key: source.LiouBrennan1997, Grade: source.Memory}, {Key: source.Atchison2006, Grade: source.Memory}},
		checks: []string{"*/eyes-*.txt"}, standsIn: anotherLanguage},
	{name: "A lens as it is made: radii, thickness, principal planes; reversed; toric marks", pkg: inOptics, names: []string{"Design.Make", "Lens.Reversed", "Lens.Faces", "Lens.LowPowerMeridian"}, refs: practice("thick-lens equation"),
		checks: []string{"derived/lens-thickness.txt", "derived/lens-bending-from-edge.txt"}, standsIn: anotherLanguage + "; thinner with index, thicker with power; a reversed lens keeps its power"},
	{name: "Volume of a lens and the incision it passes", pkg: inOptics, names: []string{"Lens.Volume", "Lens.Section", "Lens.Incision"}, constants: []string{"optics.fold-"}, refs: own("a rolled lens in a tube"),
		standsIn: "volume by slices; the incision is held against nothing"},
	{name: "Monte Carlo of one eye, outcomes by band, what being surer would cost and buy", pkg: inUncertainty, names: []string{"Simulate", "Sample.Mean", "Sample.SD", "Sample.Within", "Sample.Quantile", "Sample.Outcome", "Result.Outcome", "Buying"}, refs: own("draws around the eye; the spread that is left of a fitted constant"),
		checks: []string{"derived/monte-carlo.txt", "published/norrby-shares.txt"}, standsIn: "a run in another language, frozen; the first order for small spreads; shares of the variance from the spreads (consistency, not proof)"},
	{name: "Acuity without spectacles", pkg: inRefraction, names: []string{"Unaided.Predict", "AstigmaticVision"}, constants: []string{"unaided."}, refs: []source.Ref{{Key: source.Blendowske2015, Where: "MAR ∝ 1 + b²", Grade: source.Read}},
		checks: []string{"published/square-of-blur.txt", "derived/unaided.txt", "derived/astigmatic-vision.txt"}, standsIn: "a regression measured on 318 people, for astigmatism; a second model with the pupil, for comparison"},
	{name: "Materials of lenses; a hydrogel swells", pkg: inOptics, names: []string{"Materials", "Hydrogel.Swollen"}, constants: []string{"optics.material-", "optics.usual-", "optics.hydrogel-"}, standsIn: "indices from memory; the index of the swollen gel comes out as the trade's 1.43"},
}

func init() {
	formulas = append(formulas, raysRows...)
	plumbing[inOptics] = append(plumbing[inOptics], "Train.Faces", "Design.Check", "ToricCornea.Faces", "Pseudophakic.Train")
}
