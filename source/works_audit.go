package source

// The publications behind outcomes, their statistics and their monitoring.
var (
	AuditProtocols  = register("audit-protocols", "Hoffer KJ et al. Am J Ophthalmol 2015;160:403, and the update Hoffer KJ, Savini G. Ophthalmology 2021;128:e115", "first part of 2015 read; the list of conditions from memory")
	Gale2009        = register("gale2009", "Gale RP et al. Eye 2009;23:149, doi 10.1038/sj.eye.6702954 (benchmark of refraction, United Kingdom)", "read")
	Steiner2000     = register("steiner2000", "Steiner SH, Cook RJ, Farewell VT, Treasure T. Biostatistics 2000;1:441 (risk-adjusted CUSUM)", "equation from memory; weights of p. 446 as a statistics package's tests cite them")
	Rigdon2015      = register("rigdon2015", "Rigdon SE, Fricker RD 2015, p. 225 (weight of a risk-adjusted CUSUM)", "one number, as a statistics package's tests cite it")
	Knoth2019       = register("racusum-integral", "Run lengths of the risk-adjusted CUSUM by an integral equation, as printed with a statistics package", "two numbers, secondary")
	Deleval1994     = register("deleval1994", "de Leval MR et al. 1994 (104 arterial switch operations)", "the days of the deaths, as shipped with a statistics package")
	BiauPorcher2010 = register("biau-porcher2010", "Biau DJ, Porcher R. Stat Med 2010, doi 10.1002/sim.3947 (LC-CUSUM)", "abstract read; equation as one protocol prints it, with its slip of sign mended")
	Spiegelhalter05 = register("spiegelhalter2005", "Spiegelhalter DJ. Stat Med 2005;24:1185, doi 10.1002/sim.1970 (funnel plots)", "paper seen; equations from memory")
	Newcombe1998    = register("newcombe1998", "Newcombe RG. Stat Med 1998;17:857 and 873 (intervals of proportions)", "examples from memory")
	TextbookTests   = register("textbook-tests", "rank and paired tests as in every textbook: Friedman, Wilcoxon, Holm, Cochran, McNemar, Pitman and Morgan, Yuen", "common practice; from memory")
)
