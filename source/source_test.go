package source_test

import (
	"testing"

	"linn/source"
)

func TestOneValueForOneName(t *testing.T) {
	ref := source.Ref{Key: source.OwnChoice, Grade: source.Own}
	source.Declare(source.Constant{Name: "test.one", Value: 1, Ref: ref})
	source.Declare(source.Constant{Name: "test.one", Value: 1, Ref: ref})
	for name, c := range map[string]source.Constant{
		"second value":  {Name: "test.one", Value: 2, Ref: ref},
		"unknown work":  {Name: "test.two", Value: 2, Ref: source.Ref{Key: "nobody", Grade: source.Own}},
		"unknown grade": {Name: "test.three", Value: 2, Ref: source.Ref{Key: source.OwnChoice, Grade: "z"}},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s was taken", name)
				}
			}()
			source.Declare(c)
		}()
	}
}

func TestEveryWorkIsCited(t *testing.T) {
	for _, w := range source.Works() {
		if w.Citation == "" {
			t.Errorf("%s has no citation", w.Key)
		}
	}
}
