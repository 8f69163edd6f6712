package technique

import "linn/source"

func limit(name string, v float64, u string, from source.Ref) float64 {
	return source.Declare(source.Constant{Name: "technique." + name, Value: v, Unit: u, Ref: from})
}

// The limits of the rules. Most are custom or our own choice; each says so.
var (
	pressureRaised  = limit("pressure-raised", 25, "mmHg", ours)
	pressureHigh    = limit("pressure-high", 30, "mmHg", ours)
	quietMonths     = limit("quiet-months", 3, "months", custom)
	zonuleMost      = limit("zonule-most", 180, "°", ref(source.ManualText, source.Read, "society teaching page"))
	zonuleGrey      = limit("zonule-grey", 120, "°", ref(source.MaLi2014, source.Read, "series"))
	countFails      = limit("count-fails", 500, "cells/mm²", custom)
	countLow        = limit("count-low", 1000, "cells/mm²", ref(source.LowCount2011, source.Read, "abstract"))
	countMiddle     = limit("count-middle", 2000, "cells/mm²", ref(source.Chen2021, source.Read, "loss by count"))
	thickGuttate    = limit("thick-guttate", 640, "µm", custom)
	lengthShort     = limit("length-short", 20.5, "mm", ours)
	lengthLong      = limit("length-long", 27, "mm", ref(source.Habib2005, source.Read, "table 1"))
	systolicHigh    = limit("systolic-high", 180, "mmHg", custom)
	diastolicHigh   = limit("diastolic-high", 110, "mmHg", custom)
	nucleusHard     = limit("nucleus-hard", 5, "", custom)
	nucleusModerate = limit("nucleus-moderate", 4, "", custom)
	emeryHard       = limit("emery-hard", 4, "", custom)
	pupilWide       = limit("pupil-wide", 6, "mm", custom)
	pupilSmall      = limit("pupil-small", 5, "mm", custom)
	chamberShallow  = limit("chamber-shallow", 2.5, "mm", ref(source.Muhtaseb2004, source.Read, "table 1"))
	needleBarred    = limit("needle-barred", 26, "mm", ours)
	needleDoubt     = limit("needle-doubt", 25, "mm", ours)
	adult           = limit("adult", 18, "years", ours)
)
