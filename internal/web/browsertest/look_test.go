package browsertest

import (
	"os"
	"strings"
	"testing"

	"linn/internal/web"
)

// Pictures of gallery pages at both sizes, for whoever wants to look: LINN_LOOK
// names the beginnings of their names, LINN_SCREENS the folder.
func TestLook(t *testing.T) {
	want := os.Getenv("LINN_LOOK")
	if want == "" || screens() == "" {
		return
	}
	b := open(t)
	for _, page := range web.GalleryPages() {
		for _, start := range strings.Split(want, ",") {
			if strings.HasPrefix(page.Name, start) {
				b.see(page.URL(), laptop)
				b.picture("look-" + page.Name + "-laptop")
				b.see(page.URL(), phone)
				b.picture("look-" + page.Name + "-phone")
				break
			}
		}
	}
}
