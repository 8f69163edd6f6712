package main

import "linn/source"

const (
	inFluidics   = "calc/fluidics"
	inUltrasound = "calc/ultrasound"
	inHeat       = "calc/heat"

	steppedCourse = "fixed-step integration of the same two nodes; cutting a phase in two changes nothing"
	stepped       = "a fixed-step integration in another language"
)

func ownModel(where string) []source.Ref {
	return []source.Ref{{Key: source.OwnModel, Where: where, Grade: source.Own}}
}

// machineRows are the formulas of the machine: fluid, ultrasound, heat.
var machineRows = []formula{
	{name: "Saline: viscosity, density, vapour pressure; head of a bottle", pkg: inFluidics, names: []string{"SalineAt", "Saline.Head", "Model.Head"},
		constants: []string{"fluidics.water-viscosity-", "fluidics.saline-", "fluidics.vapour-", "fluidics.mmhg-per-hpa"},
		checks:    []string{"published/water.txt", "published/hydrostatics.txt", "derived/saline.txt"}, standsIn: "handbook values from memory; the same forms in another language"},
	{name: "Most vacuum at an altitude", pkg: inFluidics, names: []string{"VacuumCeiling", "Ceiling.Check"}, constants: []string{"fluidics.air-", "fluidics.practical-vacuum"},
		checks: []string{"published/atmosphere.txt", "derived/altitude.txt"}, standsIn: "a standard table from memory; the same forms in another language"},
	{name: "Resistance, loss and inertance of tube, sleeve and needle", pkg: inFluidics, names: []string{"Element.Drop", "Element.ResistancePerMinute", "Element.ReynoldsAt", "Model.Elements", "NeedleOf", "SleeveBore", "Gauges"},
		constants: []string{"fluidics.irrigation-", "fluidics.loss-coefficient", "fluidics.sleeve-", "fluidics.wound-factor", "fluidics.needle-", "fluidics.aspiration-", "fluidics.bypass-discharge", "fluidics.turbulent-over-laminar"},
		refs:      practice("Poiseuille, annulus, orifice"), checks: []string{"published/needle-flow.txt", "published/sleeve-pressure.txt", "derived/elements.txt"},
		standsIn: "velocity profiles solved on a grid; a second implementation in another language"},
	{name: "Vacuum on a piece", pkg: inFluidics, names: []string{"Needle.Grip", "Needle.SameGrip"}, refs: practice("pressure times area"), checks: []string{"derived/grip.txt"}, standsIn: "own arithmetic in another language; the limit that holds alike on another needle"},
	{name: "Globe as a spring", pkg: inFluidics, names: []string{"GlobeLaws", "GlobeLaw.Compliance", "GlobeLaw.Volume"}, constants: []string{"fluidics.globe-"},
		checks: []string{"derived/globe*.txt"}, standsIn: "a second implementation in another language; the laws' coefficients are published, a volume is not"},
	{name: "Compliance of a thick tube and of air in the line", pkg: inFluidics, names: []string{"ThickTube.Compliance", "Bubble.Under"}, constants: []string{"fluidics.thick-tube"}, refs: practice("isothermal gas"),
		checks: []string{"derived/thick-tube.txt", "derived/bubble.txt"}, standsIn: "own arithmetic in another language"},
	{name: "Volume of the anterior chamber", pkg: inFluidics, names: []string{"Anterior.Volume"}, constants: []string{"fluidics.chamber-volume"}, refs: own("spherical cap"), checks: []string{"published/chamber-volume.txt"}, standsIn: "within the printed SD of a mean, at usual dimensions"},
	{name: "How long a bottle lasts", pkg: inFluidics, names: []string{"BottleTime.Foot"}, refs: own("volume over flow"), checks: []string{"derived/bottle-time.txt"}, standsIn: "own arithmetic"},
	{name: "Steady pressures and flows of the chamber", pkg: inFluidics, names: []string{"Model.SteadyOpen", "Model.SteadyBlocked", "Reference", "Model.ForcedLagLimit", "Settings.Model", "Model.Working"},
		constants: []string{"fluidics.leak", "fluidics.line-compliance", "fluidics.pump-droop", "fluidics.vacuum-pump-lag", "fluidics.forced-", "fluidics.bottle-height", "fluidics.flow", "fluidics.vacuum-limit"},
		refs:      ownModel("steady state"), checks: []string{"published/canine-irrigation.txt", "published/porcine-pressures.txt", "published/forced-pressure.txt", "published/leak-*.txt", "derived/break-steady.txt", "derived/leak-fall.txt"},
		standsIn: "a second implementation in another language; the state stands still in the integrator; monotone in flow, head and leak"},
	{name: "Rise of the vacuum behind a blocked tip", pkg: inFluidics, names: []string{"Rise.To", "Rise.SurgeBound"}, constants: []string{"fluidics.rise-fraction", "fluidics.limit-reached-part"}, refs: ownModel("closed form"),
		checks: []string{"derived/rise.txt", "derived/break-rise.txt"}, standsIn: "closed form against integration"},
	{name: "Break of an occlusion: surge", pkg: inFluidics, names: []string{"Model.Run", "Surge.Run", "StandardBreak", "Break.Phases", "Settings.Break", "Settings.Run", "Model.Play", "Model.Trace", "Series.Phases", "FormedAbove"},
		constants: []string{"fluidics.capsule-area", "fluidics.occlusion", "fluidics.watch-after-break", "fluidics.least-opening", "fluidics.settled-within", "fluidics.formed-above", "fluidics.integrator-"}, refs: ownModel("differential equations"),
		checks:   []string{"published/surge-*.txt", "published/vivo-pressures.txt", "derived/break-surge.txt", "derived/break-halved.txt", "derived/break-times.txt", "derived/break-random.txt", "derived/stiff-line.txt", "derived/surge-bench.txt", "derived/trace.txt"},
		standsIn: stepped + "; two integrators of ours and a classical one; volume kept, energy falling; the surge volumes agree because the line compliance was chosen for them"},
	{name: "Spread over lines, machines and eyes; grid and changes of settings", pkg: inFluidics, names: []string{"Model.Spread", "Range.Known", "Doubts", "UncertaintyInput.Uncertainty", "EnvelopeInput.Envelope", "Model.Changes"},
		constants: []string{"fluidics.line-compliance-", "fluidics.change-"}, refs: own("ranges and steps"), standsIn: "each point is the break above; seeded draws"},
	{name: "Calibration from measurements on a console", pkg: inFluidics, names: []string{"FitIrrigation", "IrrigationFit.Apply", "FitLine", "FitGauge", "GaugeFit.At", "FitLeak", "HeadZero.Offset", "Measured.Fit", "Calibrated.Apply", "Calibrated.Complete"},
		constants: []string{"fluidics.calibration-", "fluidics.normal-95"}, refs: practice("least squares"), standsIn: "round trips; coverage of the intervals over seeded noise; Student's table against a general library"},
	{name: "Perfusion pressure and limits of the chamber's pressure", pkg: inFluidics, names: []string{"Perfusion.Pressure", "Perfusion.Check", "CheckPressure", "Settings.Findings"}, constants: []string{"fluidics.pressure-", "fluidics.perfusion-floor"},
		standsIn: "limits of a rule, tested at themselves"},

	{name: "Motion of the tip", pkg: inUltrasound, names: []string{"Motion.Moves", "Motion.At", "Motion.Working"}, refs: practice("sinusoidal motion"),
		checks: []string{"published/strokes.txt", "derived/kinematics.txt", "derived/gravities.txt"}, standsIn: "the sine itself, differentiated on a grid"},
	{name: "Sound pressure at the face", pkg: inUltrasound, names: []string{"Face.Pressure", "Face.Working", "UsualFace", "SoundVelocity"}, constants: []string{"ultrasound.saline-"}, refs: practice("near field of a piston"),
		checks: []string{"published/sound.txt", "derived/kinematics.txt", "derived/gravities.txt"}, standsIn: "a second implementation in another language"},
	{name: "Power at which bubbles were seen", pkg: inUltrasound, names: []string{"Cavitation"}, constants: []string{"ultrasound.cavitation-"}, standsIn: "limits of a rule, tested at themselves"},
	{name: "Taught numbers of a tip against one another", pkg: inUltrasound, names: []string{"Taught", "Claim.Check", "Verdict.Findings"}, constants: []string{"ultrasound.taught-", "ultrasound.claim-margin"},
		checks: []string{"derived/contradictions.txt"}, standsIn: "every pair of the four gives back the motion"},
	{name: "Effective phaco time and modes", pkg: inUltrasound, names: []string{"Sum", "Energy.StrokeTime", "Rhythm.Cycle", "Drive.Duty", "Drive.Mode"}, refs: practice("power times time"),
		checks: []string{"derived/energy.txt", "derived/power-time.txt", "derived/stroke-time.txt"}, standsIn: "own arithmetic in another language; a sum is the sum of its parts"},
	{name: "Effective phaco time by nuclear grade", pkg: inUltrasound, names: []string{"Grade.Expect", "Grade.Findings", "NucleusVolume"}, constants: []string{"ultrasound.effective-time-", "ultrasound.nucleus-volume"},
		checks: []string{"published/grade.txt", "derived/grade.txt"}, standsIn: "the exponential goes through both printed numbers by construction"},
	{name: "Removal of pieces by technique", pkg: inUltrasound, names: []string{"Piece.Remove", "Piece.Take", "Piece.Working", "Techniques", "UsualOccluded"},
		constants: []string{"ultrasound.occluded-share", "ultrasound.groove-", "ultrasound.chip-"}, checks: []string{"derived/fragments.txt"}, standsIn: "own arithmetic in another language; no removal time is published"},

	{name: "Temperature of wound and chamber", pkg: inHeat, names: []string{"Wound.Play", "Wound.Rest", "Reference", "Wound.Working", "WayFactor"},
		constants: []string{"heat.internal-", "heat.load", "heat.torsional-", "heat.wound-", "heat.sleeve-", "heat.tissue-", "heat.chamber-volume", "heat.eye-", "heat.irrigation-", "heat.body-", "heat.saline-", "heat.warm", "heat.shrinkage"}, refs: ownModel("two nodes"),
		checks: []string{"published/sleeve*.txt", "published/torsional-tip.txt", "published/shaft-in-patients.txt", "published/cadaver-no-flow.txt", "published/*-rise.txt", "published/chamber-rise-pulsed.txt", "derived/wound.txt", "derived/wound-times.txt", "derived/stop-flow.txt"}, standsIn: steppedCourse},
	{name: "Flow that keeps the wound cool", pkg: inHeat, names: []string{"Wound.LeastFlow"}, refs: ownModel("steady state of the wound"), checks: []string{"derived/least-flow.txt"}, standsIn: "the final temperature at that flow is the limit"},
	{name: "Friction and sound as heat", pkg: inHeat, names: []string{"Rub.Power", "Wound.AcousticRise"}, constants: []string{"heat.friction-power", "heat.acoustic-power"}, refs: practice("coefficient × load × speed"),
		checks: []string{"*/acoustic.txt", "derived/rub.txt"}, standsIn: "own arithmetic in another language"},
	{name: "Burn indices", pkg: inHeat, names: []string{"Burn", "Collagen", "Cornea", "Indices", "Index.ToBurn", "Index.Check"},
		constants: []string{"heat.burn-", "heat.collagen-", "heat.cornea-", "heat.gas-", "heat.boltzmann", "heat.planck"},
		checks:    []string{"published/burn-time.txt", "derived/isothermal.txt", "derived/cornea-index.txt", "derived/wound-index.txt"}, standsIn: "fixed-step sum of the same rate; at one temperature the index is time over time to 1; each falls with temperature"},
	{name: "Alarm without flow; findings of a course", pkg: inHeat, names: []string{"Moment.Alarm", "Outcome.Findings"}, constants: []string{"heat.alarm-", "heat.warm", "heat.shrinkage"}, standsIn: "limits of rules, tested at themselves"},
}

// machinePlumbing is what reads and writes the settings and the answer.
var machinePlumbing = []string{"Answer.JSON", "Calibrated.JSON", "MeasuredPart.Add", "ParseMeasured", "Field.Get", "Field.Set", "FieldNamed", "ParseSettings", "Settings.Check", "TwoFigures"}
