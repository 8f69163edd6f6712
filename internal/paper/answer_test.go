package paper

import (
	"bytes"
	"strings"
	"testing"

	"linn/finding"
)

func sample() *Answer {
	return &Answer{Title: "LEFT EYE · A <b>", Side: "LEFT EYE", Flag: "NOT SIGNED", Lines: []string{"A <b>, H-1"}, Footer: []string{"foot"},
		Parts: []Part{{}, {Heading: "Lens", Said: []Said{{finding.Stop, "STOP", "look again"}, {finding.Caution, "caution", "odd"}, {finding.Note, "note", "so"}},
			Table: &Table{Head: []string{"method", "power"}, Rows: [][]string{{"SRK/T", "+21.20 D"}, {"T2", ""}}}, Lines: []string{"that is all"}}}}
}

func TestText(t *testing.T) {
	var b bytes.Buffer
	if err := Text(&b, sample()); err != nil {
		t.Fatal(err)
	}
	want := `LEFT EYE   NOT SIGNED
A <b>, H-1

Lens
■ STOP     look again
◆ caution  odd
· note     so
method   power
SRK/T    +21.20 D
T2
that is all

foot
`
	if b.String() != want {
		t.Errorf("%s\nwant\n%s", b.String(), want)
	}
}

// The page stands alone, and what people typed cannot become markup.
func TestHTML(t *testing.T) {
	var b bytes.Buffer
	if err := HTML(&b, sample()); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	for _, want := range []string{"<!doctype html>", "<title>LEFT EYE · A &lt;b&gt;</title>", "<h1>LEFT EYE <span class=\"flag\">NOT SIGNED</span></h1>",
		"<p>A &lt;b&gt;, H-1</p>", `<li class="stop"><strong><span aria-hidden="true">■</span> STOP</strong> look again</li>`, `<th scope="row">SRK/T</th><td>&#43;21.20 D</td>`} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, never := range []string{"http://", "https://", "<script", "<b>"} {
		if strings.Contains(page, never) {
			t.Errorf("the page holds %q", never)
		}
	}
	if strings.Count(page, "<section>") != 2 || !strings.HasSuffix(page, "</html>\n") {
		t.Errorf("the page is not whole")
	}
}
