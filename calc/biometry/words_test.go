package biometry

import (
	"testing"

	"linn/internal/locale"
)

func TestLengthStepsHaveWords(t *testing.T) {
	for _, name := range LengthStepNames {
		if !locale.Has("step." + name) {
			t.Errorf("no words for step %s", name)
		}
	}
}
