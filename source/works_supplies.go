package source

// The publications behind stock, sessions and cost.
var (
	Nemhauser1978 = register("nemhauser1978", "Nemhauser GL, Wolsey LA, Fisher ML. Mathematical Programming 1978;14:265–294", "from memory: the greedy choice reaches 1 − 1/e")
	Glover1967    = register("glover1967", "Glover F. Naval Research Logistics Quarterly 1967;14:313–316", "from memory: matching of intervals by the earliest end")
	Kuhn1955      = register("kuhn1955", "Kuhn HW. Naval Research Logistics Quarterly 1955;2:83–97; Munkres J. J Soc Indust Appl Math 1957;5:32–38", "from memory")
	Venkatesh2005 = register("venkatesh2005", "Venkatesh R, Muralikrishnan R, Balent LC, et al. 2005 (593 operations on high-volume days, India)", "figures from a reference list: 3.75 minutes an operation, 16 to 18 an hour")
	TheatreTimes  = register("theatre-times", "Report on ophthalmic theatre lists, PMC4184311, table 4 (late start, time between cases, overrun)", "definitions read")
)
