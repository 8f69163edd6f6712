package risk

import "linn/source"

// Other is one published risk with what it is of, where and when. Such
// numbers have different outcomes, periods and denominators: they are shown
// beside one another and never summed.
type Other struct {
	ID      string
	Rate    Count   // as printed, where counts are printed
	Share   float64 // as printed otherwise; 0 with counts
	Setting string  // key, "" when it was not obtained
	Years   string  // "" when they were not obtained
	Ref     source.Ref
}

// Of is the share.
func (o *Other) Of() float64 {
	if o.Rate.Of > 0 {
		return float64(o.Rate.Events) / float64(o.Rate.Of)
	}
	return o.Share
}

func read(key source.Key, where string) source.Ref {
	return source.Ref{Key: key, Where: where, Grade: source.Read}
}

// Others are the published risks beside capsule rupture.
var Others = []Other{
	{ID: "dropped-nucleus", Rate: Count{1221, 1715348}, Setting: "europe", Ref: read(source.DroppedEurope, "abstract")},
	{ID: "dropped-nucleus", Share: 0.00044, Setting: "south-india", Years: "published 2021", Ref: read(source.DroppedIndia, "abstract")},
	{ID: "endophthalmitis-without-moxifloxacin", Rate: Count{214, 302815}, Setting: "south-india", Years: "published 2017", Ref: read(source.Haripriya2017, "abstract")},
	{ID: "endophthalmitis-with-moxifloxacin", Rate: Count{64, 314638}, Setting: "south-india", Years: "published 2017", Ref: read(source.Haripriya2017, "abstract")},
	{ID: "endophthalmitis-without-cefuroxime", Rate: Count{23, 6862}, Setting: "europe", Years: "published 2007", Ref: read(source.ESCRS2007, "interim report, arms without cefuroxime")},
	{ID: "suprachoroidal-haemorrhage", Rate: Count{204, 709083}, Setting: "united-kingdom", Years: "published 2023", Ref: read(source.Stewart2023, "abstract")},
	{ID: "cystoid-macular-oedema", Share: 0.0117, Setting: "united-kingdom", Years: "published 2016", Ref: read(source.Chu2016, "abstract")},
	{ID: "detachment-3-years-after-rupture", Rate: Count{13, 324}, Setting: "sweden", Ref: read(source.SwedenDetach, "abstract")},
	{ID: "detachment-3-years-without-rupture", Rate: Count{1, 331}, Setting: "sweden", Ref: read(source.SwedenDetach, "abstract")},
	{ID: "wound-burn", Rate: Count{75, 76581}, Ref: read(source.WoundBurn, "abstract")},
}

// OedemaByRetinopathy is the share of eyes whose diabetic macular oedema needed
// treatment in the year after surgery, by retinopathy before it.
var OedemaByRetinopathy = map[string]float64{"none": 0.010, "mild": 0.054, "moderate": 0.100, "severe": 0.131, "proliferative": 0.049}

// OedemaRef is where those shares were read.
var OedemaRef = read(source.DiabeticOedema, "abstract")
