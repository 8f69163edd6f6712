package main

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"linn/calc/fluidics"
	"linn/calc/heat"
	"linn/calc/ultrasound"
	"linn/internal/locale"
)

// Every key, step and reason of the machine has words.
func TestMachineHasWords(t *testing.T) {
	var need []string
	for _, f := range fluidics.Fields {
		need = append(need, "field."+f.Key)
	}
	for _, list := range [][]string{fluidics.StepNames, ultrasound.StepNames, heat.StepNames} {
		for _, name := range list {
			need = append(need, "step."+name)
		}
	}
	for _, r := range []fluidics.FitReason{fluidics.TooFew, fluidics.TooAlike, fluidics.Impossible, fluidics.WiderThanIt} {
		need = append(need, "fit."+string(r))
	}
	for _, key := range need {
		if !locale.Has(key) {
			t.Errorf("no words for %s", key)
		}
	}
}

// Whatever is set, the command answers or refuses in words, and never shows a
// key in braces, a NaN or a pressure below 0 as text.
func TestChamberNeverFails(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 1))
	for range 300 {
		var parts []string
		for _, f := range fluidics.Fields {
			if r.IntN(3) > 0 {
				continue
			}
			switch {
			case f.Key == "tip_gauge":
				parts = append(parts, fmt.Sprintf("%q:%d", f.Key, 19+r.IntN(4)))
			case f.Number:
				parts = append(parts, fmt.Sprintf("%q:%.3f", f.Key, f.Bounds.Low+r.Float64()*(f.Bounds.High-f.Bounds.Low)))
			default:
				parts = append(parts, fmt.Sprintf("%q:%q", f.Key, f.Words[r.IntN(len(f.Words))]))
			}
		}
		in := "{" + strings.Join(parts, ",") + "}"
		code, out, errs := ask(in, "chamber", "-")
		if code > exitRefused || strings.ContainsAny(out+errs, "{}[") || strings.Contains(out, "NaN") || strings.Contains(out, "−") || strings.Contains(out, "Inf") || code == exitDone && errs != "" {
			t.Fatalf("exit %d\n%s\n%s%s", code, in, out, errs)
		}
	}
}
