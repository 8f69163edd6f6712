package lenspower

import (
	"fmt"
	"maps"

	"linn/eye"
	"linn/unit"
)

// afterRunners say how the check files of unusual eyes are computed.
var afterRunners = map[string]func(cells) (results, error){
	"published/child-lekskul.txt":        childTable,
	"published/child-infant-trial.txt":   childTable,
	"published/child-rule-of-seven.txt":  childTable,
	"published/child-plager.txt":         childTable,
	"published/child-trivedi-wilson.txt": childTable,
	"published/child-dahan.txt":          childTable,
	"published/child-prost.txt":          childTable,
	"published/sulcus-bands.txt": func(c cells) (results, error) {
		return results{"less": float64(c.d("bag") - sulcusRules(c.d("bag")).Chart)}, nil
	},
	"published/sulcus-nines.txt": func(c cells) (results, error) {
		return results{"less": float64(c.d("bag") - sulcusRules(c.d("bag")).Nines)}, nil
	},
	"derived/masket.txt": func(c cells) (results, error) {
		out := results{}
		for col, id := range map[string]string{"dP": "masket", "modified": "masket-modified"} {
			in := OperatedInput{Surgery: eye.MyopicLaser, AxialLength: 25, K: 40, Vertex: 12, RefractionBefore: unit.Known(c.d("LSE")), RefractionAfter: unit.Known(unit.Dioptre(0)), Constants: published}
			if c.Num("LSE") > 0 {
				in.Surgery = eye.HyperopicLaser
			}
			// The table gives the change at the cornea; the history is at the spectacles.
			in.RefractionBefore.Value /= 1 + 0.012*in.RefractionBefore.Value
			s, err := OperatedMethodNamed(id).Solve(in)
			if err != nil {
				return nil, err
			}
			out[col] = float64(s.Added)
		}
		return out, nil
	},
	"derived/maloney.txt": func(c cells) (results, error) {
		k := MaloneyPowers(c.d("K"))
		return results{"wk": float64(k.WangKoch), "original": float64(k.Original)}, nil
	},
	"derived/rosa.txt": func(c cells) (results, error) {
		f, err := RosaFactor(c.mm("AL"))
		return results{"factor": float64(f)}, err
	},
	"derived/aphakic-multipliers.txt": func(c cells) (results, error) {
		p, err := AphakicMultipliers(c.d("SE"), unit.Constant(c.Num("A")))
		return results{"ianchulev": float64(p.Ianchulev), "mackool": float64(p.Mackool), "leccisotti": float64(p.Leccisotti)}, err
	},
	"derived/refractive-vergence.txt": func(c cells) (results, error) {
		p, err := RefractiveVergence(SecondLens{K: c.d("K"), Position: c.mm("ELP"), Vertex: c.mm("V"), Before: c.d("pre"), Target: c.d("post")})
		return results{"P": float64(p)}, err
	},
	"derived/binkhorst.txt": func(c cells) (results, error) {
		s, err := HistoricalMethodNamed("binkhorst-2").Solve(HistoricalInput{AxialLength: c.mm("AL"), K: c.d("K"), Vertex: 12, Constants: Constants{PACD: unit.Known(c.mm("ACD"))}})
		if err != nil {
			return nil, err
		}
		p, err := s.Power(0)
		return results{"P": float64(p)}, err
	},
	"derived/second-eye.txt": func(c cells) (results, error) {
		sd, err := Pair{unit.Ratio(c.Num("rho")), unit.Ratio(c.Num("w"))}.ResidualSD()
		return results{"sd": float64(sd)}, err
	},
}

func init() { maps.Copy(runners, afterRunners) }

// childTable looks one table up at an age; Dahan's powers by length take the
// column as a length.
func childTable(c cells) (results, error) {
	child := Child{AgeMonths: unit.Constant(c.Num("months"))}
	if c.Word("table") == "dahan-length" {
		child = Child{AgeMonths: 12, AxialLength: unit.Known(c.mm("months"))}
	}
	list, err := ChildTargets(child)
	if err != nil {
		return nil, err
	}
	for _, t := range list {
		if t.Table == c.Word("table") {
			return results{"low": t.Low, "high": t.High}, nil
		}
	}
	return nil, fmt.Errorf("the table is silent")
}
