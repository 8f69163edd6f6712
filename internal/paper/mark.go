package paper

import (
	"fmt"
	"image/color"

	"github.com/boombuler/barcode/datamatrix"
)

// quiet is the free border of a DataMatrix in modules; ISO/IEC 16022 asks for
// one, printers that bleed for more.
const quiet = 2

// mark draws content as a DataMatrix of the given size with its upper left
// corner at x, y: one rectangle for each run of dark modules, so that it stays
// sharp at any scale.
func (p *page) mark(x, y, size float64, content string) {
	code, err := datamatrix.Encode(content)
	if err != nil {
		if p.err == nil {
			p.err = fmt.Errorf("paper: mark: %w", err)
		}
		return
	}
	n := code.Bounds().Dx()
	module := size / float64(n+2*quiet)
	dark := func(i, j int) bool { return color.GrayModel.Convert(code.At(i, j)).(color.Gray).Y < 128 }
	p.pdf.SetFillColor(0, 0, 0)
	for j := range n {
		for i := 0; i < n; i++ {
			from := i
			for i < n && dark(i, j) {
				i++
			}
			if i > from {
				p.pdf.Rect(x+float64(from+quiet)*module, y+float64(j+quiet)*module, float64(i-from)*module, module, "F")
			}
		}
	}
}
