package source

// Where the conversions of visual acuity come from.
var (
	AcuityPractice   = register("acuity-practice", "Snellen fraction, decimal acuity and minimum angle of resolution; any textbook of visual optics", "the definitions")
	Beck2003         = register("beck2003", "Beck RW et al. Am J Ophthalmol 2003: letters of the electronic chart as logMAR", "through the documentation of a statistics package")
	Gregori2010      = register("gregori2010", "Gregori NZ, Feuer W, Rosenfeld PJ. Retina 2010: Snellen fractions as approximate letters", "through the documentation of a statistics package")
	SchulzeBonsel06  = register("schulze-bonsel2006", "Schulze-Bonsel K et al. Invest Ophthalmol Vis Sci 2006;47:1236: counting fingers and hand motion measured", "abstract read")
	Lange2009        = register("lange2009", "Lange C et al. 2009: resolving the lowest acuities", "abstract read; details from memory")
	Limburg2005      = register("limburg2005", "Limburg H et al. Br J Ophthalmol 2005;89:45–49, doi 10.1136/bjo.2004.045351: bands of outcome", "read")
	Sparrow2012      = register("sparrow2012", "Sparrow JM et al. Eye 2012;26:821, doi 10.1038/eye.2012.51: best-measured acuity, visual loss", "abstract read")
	UKRuptureAudit   = register("uk-rupture-audit", "Page of a national cataract audit: what counts as posterior capsule rupture", "read")
	AfterPractice    = register("after-practice", "When eyes are seen after cataract surgery", "common practice; local protocol goes before it")
	OperationRecords = register("operation-records", "What an operation note holds, and what is implausible in it", "common practice, bounds our own")
	RedFlags         = register("red-flags", "Warning signs after cataract surgery", "common practice; local protocol goes before it")
)
