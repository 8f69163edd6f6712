package lenspower

import (
	"linn/eye"
	"linn/source"
	"linn/unit"
)

// Separate surfaces: the front surface by its own index, 1.114·K; the back
// surface as it was before, from K before, or a mean one.
const (
	surfacesFront = 1.114
	surfacesBack  = -4.98
)

var _ = declare(source.Separate, source.Read,
	coefficient{"separate-surfaces.front", surfacesFront, "", "front surface per dioptre of K"},
) && declare(source.Separate, source.Memory,
	coefficient{"separate-surfaces.back", surfacesBack, "D", "back surface without history"},
)

var separateSurfaces = []*OperatedMethod{{ID: "separate-surfaces", Version: "1", Ref: source.Ref{Key: source.Separate, Where: "with history read; without history and the choice of SRK/T from memory", Grade: source.Memory},
	Surgeries: laserUnknown, base: always("srk-t"), correct: correctSurfaces}}

// correctSurfaces takes the back surface from K before where it is recorded.
// The mean back surface is for myopic surgery; other surgery needs K before.
func correctSurfaces(in *OperatedInput, n *notes) (correction, error) {
	if !in.KBefore.Known && in.Surgery != eye.MyopicLaser {
		return correction{}, &MissingError{"separate-surfaces", "k_before_d"}
	}
	back := unit.Dioptre(surfacesBack)
	if in.KBefore.Known {
		back = in.KBefore.Value - surfacesFront*in.KBefore.Value
	}
	n.reading("after.k-now", "SimKpost", float64(in.K), "D")
	n.add("after.posterior", "Kpost", float64(back), "D")
	c := in.corrected("separate-surfaces", surfacesFront*float64(in.K)+float64(back), n)
	c.history = in.KBefore.Known
	return c, nil
}
