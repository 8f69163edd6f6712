package source

// The publications behind rays, schematic eyes, lenses and what an eye sees.
var (
	Navarro1985         = register("navarro1985", "Navarro R, Santamaría J, Bescós J. J Opt Soc Am A 1985;2:1273", "from memory; a comment in an open eye model says that the paper prints a corneal index of 1.367")
	EscuderoNavarro1999 = register("escudero-navarro1999", "Escudero-Sanz I, Navarro R. J Opt Soc Am A 1999;16:1881–1891", "indices from a general optics library; the rest from memory")
	LiouBrennan1997     = register("liou-brennan1997", "Liou HL, Brennan NA. J Opt Soc Am A 1997;14:1684–1695", "abstract read (60.35 D, 23.95 mm); surfaces from memory")
	Atchison2006        = register("atchison2006", "Atchison DA. Vision Res 2006;46:2236–2250", "corneal radii, gaps and two indices from an open model eye; the rest from memory")
	Sharma1982          = register("sharma1982", "Sharma A, Kumar DV, Ghatak AK. Appl Opt 1982;21:984–987: rays through graded media", "form of the equation from memory")
	Thibos2004          = register("thibos2004", "Thibos LN, Hong X, Bradley A, Applegate RA. J Vis 2004;4:329–351", "abstract read; formulas from memory")
	ThibosZernike       = register("ansi-z80-28", "ANSI Z80.28 and OSA: reporting the optical aberrations of eyes, Zernike polynomials", "from memory")
	Wang2003            = register("wang2003", "Wang L, Dai E, Koch DD, Nguyen. J Cataract Refract Surg 2003 (228 eyes), corneal aberrations at 6 mm", "abstract read: c₄⁰ +0.280 ± 0.086 µm")
	Blendowske2015      = register("blendowske2015", "Blendowske R. Optom Vis Sci 2015: unaided acuity from the dioptric distance, MAR ∝ 1 + b²", "abstract read")
	Hoshikawa2021       = register("hoshikawa2021", "Hoshikawa R et al. Sci Rep 2021, doi 10.1038/s41598-021-85313-3 (318 presbyopes, astigmatism to 3 D)", "abstract read")
	Smith1991           = register("smith1991", "Smith G. Optom Vis Sci 1991: relation of acuity to refractive error and pupil", "abstract read; the slope from memory, where 0.83 is also remembered")
	LensMaterials       = register("lens-material-practice", "refractive indices of lens materials in the trade", "from memory")
	IOLTrade            = register("lens-trade-practice", "what is known in the trade of intraocular lenses: 6 mm optics, 13 mm overall, swelling of hydrogels, marks of toric optics", "common practice, no source")
)
