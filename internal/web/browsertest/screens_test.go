package browsertest

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// Pictures of the demo for docs/screens, and what must hold on each of its
// pages: nothing wider than the window, no message missing, no console error,
// no finding of the accessibility checker.
func TestDemoPages(t *testing.T) {
	b := workbench(t, true)
	for _, page := range []struct {
		name, path string
		size       size
		who        string
	}{
		{"ward-laptop", "/ward", laptop, ""},
		{"ward-phone", "/ward", phone, ""},
		{"eye-laptop", "Brennor Tidewell left", laptop, ""},
		{"eye-phone", "Brennor Tidewell left", phone, ""},
		{"eye-stop-laptop", "Tindra Ellerbeck right", laptop, ""},
		{"eye-without-lens-laptop", "Farrow Underskerry left", laptop, ""},
		{"eye-after-laser-laptop", "Tavelle Eskerling right", laptop, ""},
		{"eye-after-laser-phone", "Tavelle Eskerling right", phone, ""},
		{"eye-stop-phone", "Tindra Ellerbeck right", phone, ""},
		{"eye-caution-laptop", "Celindra Kelpstone right", laptop, ""},
		{"shelf-laptop", "/shelf", laptop, "Ineva Rookhaven"},
		{"desk-laptop", "/desk", laptop, "Ineva Rookhaven"},
		{"round-laptop", "/round", laptop, "Haldis Marrowick"},
		{"round-phone", "/round", phone, ""},
		{"operation-laptop", "operate Amrelle Saltmarsh right", laptop, ""},
		{"new-phone", "/case/new", phone, "Haldis Marrowick"},
	} {
		t.Run(page.name, func(t *testing.T) {
			b.t = t
			if page.who != "" {
				b.see("/ward", laptop)
				b.be(page.who)
			}
			path, form := strings.CutPrefix(page.path, "operate ")
			if !strings.HasPrefix(path, "/") {
				path = "/case/" + b.cases[path]
			}
			if form {
				path += "/operation"
			}
			b.see(path, page.size)
			if page.size == laptop || full() {
				b.check(t, page.size)
			} else {
				b.fits(t, page.size)
			}
			b.picture(page.name)
		})
	}
	b.t = t
}

// The sheet of the demo on paper, signed and not, by the browser and as PDF.
func TestDemoSheets(t *testing.T) {
	b := workbench(t, true)
	for _, s := range []struct {
		name, eye, says string
	}{
		{"sheet-signed", "Amrelle Saltmarsh right", "00006"},
		{"sheet-unsigned", "Celindra Kelpstone right", "NOT SIGNED"},
	} {
		path := "/case/" + b.cases[s.eye] + "/sheet"
		b.see(path, laptop)
		if n := b.print(s.name + "-print"); n != 1 {
			t.Errorf("%s prints on %d pages", s.name, n)
		}
		pdf := b.fetch(path + ".pdf")
		if text := pdfText(t, pdf); !strings.Contains(text, s.says) {
			t.Errorf("%s: the PDF does not say %q", s.name, s.says)
		}
		name := ""
		if s.name == "sheet-signed" {
			name = "sheet-signed-pdf"
		}
		if n := b.paper(name, pdf); n != 1 {
			t.Errorf("%s: the PDF has %d pages", s.name, n)
		}
	}
	b.see("/case/"+b.cases["Brennor Tidewell left"]+"#lens", laptop)
	b.do(chromedp.Focus(chromedp.CSS("button[popovertarget=working-srk-t]")))
	b.press("\r")
	b.until("the working is open", `document.getElementById("working-srk-t").matches(":popover-open")`)
	b.shot("working-laptop")
}
