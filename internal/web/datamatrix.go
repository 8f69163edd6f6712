package web

import (
	"fmt"
	"html/template"
	"image/color"
	"strings"

	"github.com/boombuler/barcode/datamatrix"
)

// dataMatrix draws content as a DataMatrix symbol (ISO/IEC 16022) with a
// quiet zone of two modules; the standard asks for one.
func dataMatrix(content, label string) (template.HTML, error) {
	code, err := datamatrix.Encode(content)
	if err != nil {
		return "", fmt.Errorf("web: sheet mark: %w", err)
	}
	const quiet = 2
	b := code.Bounds()
	var p strings.Builder
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			if code.At(x, y) == color.Black {
				fmt.Fprintf(&p, "M%d %dh1v1h-1z", x-b.Min.X+quiet, y-b.Min.Y+quiet)
			}
		}
	}
	side := px(float64(b.Dx() + 2*quiet))
	d := &drawing{}
	fmt.Fprintf(&d.b, `<svg xmlns="http://www.w3.org/2000/svg" class="datamatrix" role="img" aria-label="%s" viewBox="0 0 %s %s" shape-rendering="crispEdges">`,
		template.HTMLEscapeString(label), side, side)
	d.b.WriteString(`<rect width="100%" height="100%" fill="#ffffff"/>`)
	d.path(p.String(), "fill", "#000000")
	return d.html(), nil
}
