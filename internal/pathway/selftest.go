package pathway

import (
	_ "embed"
	"fmt"
	"math"
	"strconv"
	"strings"

	"linn/calc/lenspower"
	"linn/eye"
	"linn/internal/care/plan"
	"linn/unit"
)

//go:embed selftest.txt
var selfTestRows string

// SelfTest computes the embedded check rows as plans are computed and returns
// those that do not come out to the printed digits. A program whose numbers
// are not its own, by a broken build or a broken machine, is not to plan.
func SelfTest() (wrong []string) { return selfTest(selfTestRows) }

func selfTest(rows string) (wrong []string) {
	n := 0
	for text := range strings.Lines(rows) {
		if strings.HasPrefix(text, "#") || strings.TrimSpace(text) == "" {
			continue
		}
		n++
		if err := checkRow(strings.Fields(text)); err != nil {
			wrong = append(wrong, err.Error())
		}
	}
	if n == 0 {
		return []string{"no check rows"}
	}
	return wrong
}

// checkRow computes one row: method constants length K depth | position power.
func checkRow(f []string) error {
	if len(f) != 7 {
		return fmt.Errorf("check row of %d fields", len(f))
	}
	e := eye.Eye{Side: eye.Right, LensStatus: eye.Phakic, Vitreous: eye.NaturalVitreous, CornealSurgery: eye.NoSurgery}
	for key, text := range map[string]string{"axial_length_mm": f[2], "k_flat_d": f[3], "k_steep_d": f[3], "keratometric_index": "1.3375",
		"acd_mm": strings.Trim(f[4], "-"), "target_d": "0"} {
		if r := eye.FieldNamed(key).Set(&e, text); r != nil && text != "" {
			return r
		}
	}
	lens := lenspower.NewLens()
	for constant := range strings.SplitSeq(f[1], ",") {
		key, text, _ := strings.Cut(constant, "=")
		field := lenspower.LensFieldNamed(key)
		if field == nil {
			return fmt.Errorf("check row with constant %q", key)
		}
		if r := field.Set(&lens, text); r != nil {
			return r
		}
	}
	for _, m := range plan.Lens(&e, &lens).Methods {
		if m.Method == f[0] {
			return firstOf(printsAs(f[0]+" position", m.LensPosition, f[5]), printsAs(f[0]+" power", m.Emmetropia, f[6]))
		}
	}
	return fmt.Errorf("%s gave no answer", f[0])
}

func firstOf(list ...error) error {
	for _, err := range list {
		if err != nil {
			return err
		}
	}
	return nil
}

// printsAs compares a result with a printed value to half its last digit.
func printsAs(what string, got Number, printed string) error {
	if printed == "-" {
		return nil
	}
	want, err := unit.ParseNumber(printed)
	if err != nil {
		return err
	}
	_, digits, _ := strings.Cut(printed, ".")
	half := 0.5*math.Pow10(-len(digits)) + 1e-9
	if !got.Known || math.Abs(got.Value-want) > half {
		return fmt.Errorf("%s is %s and should be %s", what, strconv.FormatFloat(got.Value, 'f', 6, 64), printed)
	}
	return nil
}
