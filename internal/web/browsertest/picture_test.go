package browsertest

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"maps"
	"slices"
)

// small writes a picture anew with its 256 commonest colours: a page has few,
// and the repository keeps its pictures for good.
func small(data []byte) ([]byte, error) {
	from, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	box, seen := from.Bounds(), map[color.RGBA]int{}
	at := func(x, y int) color.RGBA { return color.RGBAModel.Convert(from.At(x, y)).(color.RGBA) }
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			seen[at(x, y)]++
		}
	}
	commonest := slices.SortedFunc(maps.Keys(seen), func(a, b color.RGBA) int { return seen[b] - seen[a] })
	var pal color.Palette
	for _, c := range commonest[:min(256, len(commonest))] {
		pal = append(pal, c)
	}
	index := map[color.RGBA]uint8{}
	for c := range seen {
		index[c] = uint8(pal.Index(c))
	}
	to := image.NewPaletted(box, pal)
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			to.SetColorIndex(x, y, index[at(x, y)])
		}
	}
	var b bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestCompression}
	err = encoder.Encode(&b, to)
	return b.Bytes(), err
}
