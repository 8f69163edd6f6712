package biometry

import (
	"errors"
	"fmt"
	"math"

	"linn/eye"
	"linn/source"
	"linn/unit"
)

// StandardIndex is the keratometric index at which this program states
// corneal powers, and what is assumed when an eye records none.
const StandardIndex unit.Index = 1.3375

// thousandIndex is 1000·(1.3375 − 1), written out: 1000·(StandardIndex − 1)
// is not 337.5 in binary, and r = 337.5/K is the published form.
const thousandIndex = 337.5

// ErrMissing is what every MissingError wraps.
var ErrMissing = errors.New("biometry: reading not recorded")

// MissingError names the reading that a calculation needs and did not get.
type MissingError struct{ Field string }

func (e *MissingError) Error() string { return "biometry: " + e.Field + " is not recorded" }

// Unwrap makes errors.Is(err, ErrMissing) true.
func (e *MissingError) Unwrap() error { return ErrMissing }

// keratometryRange and indexRange are the input rules of the eye format.
var (
	keratometryRange = flatField.Bounds
	indexRange       = indexField.Bounds
)

func inside(v float64, b unit.Bounds) bool { return v >= b.Low && v <= b.High } // false for NaN

// MeanK returns the mean of both corneal powers in dioptres at index 1.3375:
// (K1 + K2)/2 · 0.3375/(n − 1) with n the recorded index, 1.3375 when none is
// recorded (Check says so). Averaging powers and not radii is the choice of
// this program; the radii would differ by at most 0.06 D in power.
//
// It refuses a missing power with a *MissingError and a power outside 30–60 D
// or an index outside 1.32–1.34 with a *unit.RangeError.
func MeanK(e *eye.Eye) (unit.Dioptre, error) {
	flat, steep, err := powers(e)
	return (flat + steep) / 2, err
}

// Cylinder returns the keratometric cylinder, steep minus flat, in dioptres at
// index 1.3375; it is never negative. It refuses what MeanK refuses, and a
// steep power below the flat one.
func Cylinder(e *eye.Eye) (unit.Dioptre, error) {
	flat, steep, err := powers(e)
	if err != nil {
		return 0, err
	}
	if steep < flat {
		return 0, &unit.RangeError{What: "k_steep_d", Got: float64(e.KSteep.Value), Low: float64(e.KFlat.Value), High: keratometryRange.High, Unit: "D"}
	}
	return steep - flat, nil
}

// Radius returns the corneal radius r = 337.5/K of a power at index 1.3375.
// It refuses a power outside 30–60 D.
func Radius(k unit.Dioptre) (unit.Millimetre, error) {
	if !inside(float64(k), keratometryRange) {
		return 0, rangeError("k", float64(k), keratometryRange, "D")
	}
	return unit.Millimetre(thousandIndex / float64(k)), nil
}

// AtStandardIndex converts a corneal power stated at index n to index 1.3375:
// the radius stays, K·0.3375/(n − 1). It refuses an index outside 1.32–1.34.
func AtStandardIndex(k unit.Dioptre, n unit.Index) (unit.Dioptre, error) {
	if !inside(float64(n), indexRange) {
		return 0, rangeError("keratometric_index", float64(n), indexRange, "")
	}
	if n == StandardIndex { // exact: what was typed is what is used
		return k, nil
	}
	return unit.Dioptre(float64(k) * thousandIndex / (1000 * (float64(n) - 1))), nil
}

// powers returns both powers at the standard index.
func powers(e *eye.Eye) (flat, steep unit.Dioptre, err error) {
	if flat, err = power(e.KFlat, "k_flat_d", e.KeratometricIndex); err != nil {
		return 0, 0, err
	}
	if steep, err = power(e.KSteep, "k_steep_d", e.KeratometricIndex); err != nil {
		return 0, 0, err
	}
	return flat, steep, nil
}

func power(k unit.Reading[unit.Dioptre], field string, n unit.Reading[unit.Index]) (unit.Dioptre, error) {
	if !k.Known {
		return 0, &MissingError{Field: field}
	}
	if !inside(float64(k.Value), keratometryRange) {
		return 0, rangeError(field, float64(k.Value), keratometryRange, "D")
	}
	return AtStandardIndex(k.Value, n.Or(StandardIndex))
}

func rangeError(what string, got float64, b unit.Bounds, name string) error {
	return &unit.RangeError{What: what, Got: got, Low: b.Low, High: b.High, Unit: name}
}

// Indices are the keratometric indices that instruments use, most usual first.
var Indices = [...]unit.Index{1.3375, 1.332, 1.336, 1.3315}

// indexWindow is how far an inferred index may lie from a usual one. A radius
// printed to 0.01 mm moves n by 0.0002, so 1.332 and 1.3315 cannot always be
// told apart; the nearer is taken, as the exchange rules of this program say.
var indexWindow = source.Declare(source.Constant{Name: "biometry.index-window", Value: 0.0003,
	Ref: source.Ref{Key: source.OwnChoice, Where: "keratometry exchange carries no index", Grade: source.Own}})

// InferIndex finds the keratometric index behind a corneal power and the
// radius printed beside it: n = 1 + K·r/1000 (K in D, r in mm), snapped to the
// nearest of Indices within ±0.0003. Anything else is an *IndexError: power and
// radius then do not belong together, or the index is unusual and has to be
// read from the instrument.
func InferIndex(k unit.Dioptre, r unit.Millimetre) (unit.Index, error) {
	n := impliedIndex(k, r)
	best, off := Indices[0], math.Inf(1)
	for _, known := range Indices {
		if d := math.Abs(float64(n - known)); d < off {
			best, off = known, d
		}
	}
	if !(off <= indexWindow+margin) {
		return 0, &IndexError{Power: k, Radius: r, Implied: n}
	}
	return best, nil
}

func impliedIndex(k unit.Dioptre, r unit.Millimetre) unit.Index {
	return unit.Index(1 + float64(k)*float64(r)/1000)
}

// IndexError says that a corneal power and a radius imply no usual index.
type IndexError struct {
	Power   unit.Dioptre
	Radius  unit.Millimetre
	Implied unit.Index
}

func (e *IndexError) Error() string {
	return fmt.Sprintf("biometry: %s and %s imply the index %s, which no usual instrument has", e.Power.Unsigned(), e.Radius, e.Implied)
}
