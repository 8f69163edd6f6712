package fluidics

import (
	"linn/source"
	"linn/unit"
)

func declare(name string, value float64, u string, ref source.Ref) float64 {
	return source.Declare(source.Constant{Name: "fluidics." + name, Value: value, Unit: u, Ref: ref})
}

// Where the numbers of the model come from. Dimensions that are "usual" are
// what the trade remembers; no drawing was read.
var (
	usual    = source.Ref{Key: source.CommonPractice, Where: "usual dimension", Grade: source.Memory}
	textbook = source.Ref{Key: source.CommonPractice, Where: "textbook value", Grade: source.Memory}
	choice   = source.Ref{Key: source.OwnModel, Where: "choice of the model", Grade: source.Own}
	fitted   = source.Ref{Key: source.OwnModel, Where: "fitted to the pressure fall with leak of jcrs2023-49-976", Grade: source.Own}
	surgeFit = source.Ref{Key: source.OwnModel, Where: "fitted to the surge volumes of thorne2016", Grade: source.Own}
	column   = source.Ref{Key: source.NeedleColumn2006, Where: "the two usual needle sizes", Grade: source.Secondary}
)

// The reference model's dimensions and rates.
var (
	refTubeBore      = declare("irrigation-tube-bore", 2.5, "mm", fitted)
	refTubeLength    = declare("irrigation-tube-length", 2200, "mm", usual)
	refChannelBore   = declare("irrigation-channel-bore", 1.8, "mm", usual)
	refChannelLength = declare("irrigation-channel-length", 100, "mm", usual)
	refLoss          = declare("loss-coefficient", 1.5, "", source.Ref{Key: source.CommonPractice, Where: "entrance 0.5 and exit 1.0", Grade: source.Memory})
	refSleeveLength  = declare("sleeve-length", 18, "mm", usual)
	refPortBore      = declare("sleeve-port-bore", 0.9, "mm", usual)
	refWound         = declare("wound-factor", 1.5, "", fitted)
	refNeedleLength  = declare("needle-length", 25, "mm", usual)
	refLumenBore     = declare("aspiration-lumen-bore", 1.6, "mm", usual)
	refLumenLength   = declare("aspiration-lumen-length", 120, "mm", usual)
	refLineBore      = declare("aspiration-line-bore", 1.5, "mm", usual)
	refLineLength    = declare("aspiration-line-length", 1800, "mm", usual)
	refDischarge     = declare("bypass-discharge", 0.65, "", textbook)

	refCompliance = declare("line-compliance", 0.30, "µL/mmHg", surgeFit)
	refDroop      = declare("pump-droop", 0.10, "", choice)
	refPumpLag    = declare("vacuum-pump-lag", 0.30, "s", usual)
	refForcedLag  = declare("forced-infusion-lag", 0.30, "s", source.Ref{Key: source.OwnModel, Where: "stable above the inertance over the resistance of the irrigation", Grade: source.Own})
	refForcedTop  = declare("forced-infusion-ceiling", 150, "mmHg", choice)
	refLeak       = declare("leak", 0.10, "(mL/min)/mmHg", source.Ref{Key: source.FluidicsColumn14, Where: "5–10 mL/min are usual", Grade: source.Secondary})
	refChamber    = declare("chamber-volume", 140, "µL", source.Ref{Key: source.Chamber2016, Where: "139.8 ± 38.2 mm³, rounded", Grade: source.Read})
	refCapsule    = declare("capsule-area", 70, "mm²", source.Ref{Key: source.OwnModel, Where: "circle of 9.4 mm", Grade: source.Own})

	refBottle = declare("bottle-height", 90, "cm", choice)
	refFlow   = declare("flow", 30, "mL/min", choice)
	refLimit  = declare("vacuum-limit", 400, "mmHg", choice)
	refHold   = declare("occlusion", 3, "s", choice)
	refWatch  = declare("watch-after-break", 2.5, "s", choice)
	leastOpen = declare("least-opening", 0.02, "", choice)
)

// Limits of what is called dangerous.
var (
	formedAbove    = declare("formed-above", 5, "mmHg", choice)
	settledWithin  = declare("settled-within", 2, "mmHg", choice)
	riseFraction   = declare("rise-fraction", 0.9, "", choice)
	usualPressure  = declare("pressure-usual", 45, "mmHg", perfusionRef)
	highPressure   = declare("pressure-high", 60, "mmHg", perfusionRef)
	perfusionFloor = declare("perfusion-floor", 40, "mmHg", perfusionRef)
	perfusionRef   = source.Ref{Key: source.PerfusionPractice, Where: "chamber to 45, 45–60, above 60 mmHg; perfusion below 30–40 mmHg", Grade: source.Memory}
)

// The needle and sleeve tables of the reference model.
var (
	needle19, needle20 = declare("needle-19-outer", 1.10, "mm", column), declare("needle-20-outer", 0.90, "mm", column)
	needle21, needle22 = declare("needle-21-outer", 0.80, "mm", usual), declare("needle-22-outer", 0.70, "mm", usual)
	needleWall         = declare("needle-two-walls", 0.20, "mm", usual)

	sleeve18, sleeve22, sleeve28 = declare("sleeve-bore-1.8", 1.25, "mm", usual), declare("sleeve-bore-2.2", 1.50, "mm", usual), declare("sleeve-bore-2.8", 1.85, "mm", usual)
)

// FormedAbove is the pressure under which the chamber counts as collapsed.
func FormedAbove() unit.MillimetreHg { return unit.MillimetreHg(formedAbove) }
