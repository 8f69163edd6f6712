package paper

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// The leaflet is one page and says whose eye, every sign and the number; a
// letter that cannot be set refuses it.
func TestLeaflet(t *testing.T) {
	l := Leaflet{Side: "RIGHT EYE", Name: "Maren Holm", Identifier: "H-0412", Hospital: "Invented Hospital", Phone: "01632 960 118", Signs: []string{"pain", "sight", "curtain"}}
	var b bytes.Buffer
	if err := PrintLeaflet(&b, &l, english{}); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "leaflet.pdf")
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-layout", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	text := string(out)
	for _, want := range []string{"RIGHT EYE", "Maren Holm", "H-0412", "01632 960 118", english{}.T("leaflet.sign.pain"), "curtain"} {
		if !strings.Contains(text, want) {
			t.Errorf("the leaflet lacks %q:\n%s", want, text)
		}
	}
	if strings.Count(text, "\f") != 1 {
		t.Error("not one page")
	}
	l.Name = "\U00012000"
	if err := PrintLeaflet(&b, &l, english{}); err == nil {
		t.Error("a name is printed with letters missing")
	}
}
