package web

import (
	"encoding/xml"
	"fmt"
	"html"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"regexp"
	"strings"
	"testing"
)

func play(h http.Handler, page string, part bool, set map[string]string) *httptest.ResponseRecorder {
	q := url.Values{}
	for k, v := range set {
		q.Set(k, v)
	}
	w, r := httptest.NewRecorder(), httptest.NewRequest("GET", "/gallery/bench-chamber/bench/"+page+"?"+q.Encode(), nil)
	if part {
		r.Header.Set("HX-Request", "true")
	}
	h.ServeHTTP(w, r)
	return w
}

// Whatever is typed into a page of the Bench, it answers or refuses in words.
func TestBenchNeverFails(t *testing.T) {
	h := galleryServer(t)
	r := rand.New(rand.NewPCG(6, 2))
	odd := []string{"", "-1", "0", "1e9", "12,5", "−3", "x", "99999999", "0.0001"}
	rounds := 12
	if os.Getenv("LINN_FULL") != "" {
		rounds = 300
	}
	for _, b := range benchPages() {
		if b.play == nil { // a page of its own, with its own tests
			continue
		}
		for range rounds {
			set := map[string]string{}
			for _, k := range b.knobs {
				switch {
				case k.words != nil:
					set[k.key] = append(k.words, "odd")[r.IntN(len(k.words)+1)]
				case r.IntN(12) == 0:
					set[k.key] = odd[r.IntN(len(odd))]
				case k.step > 0:
					set[k.key] = fmt.Sprintf("%.3f", k.from+r.Float64()*(k.to-k.from))
				}
			}
			w := play(h, b.key, true, set)
			body := html.UnescapeString(w.Body.String())
			if w.Code != 200 && w.Code != 422 || w.Code == 422 && !strings.Contains(body, `role="alert"`) {
				t.Fatalf("%s %v: %d", b.key, set, w.Code)
			}
			for _, bad := range []string{"NaN", "+Inf", "-Inf", "∞", "[bench", "[word", "[field", "[tip", "[chamber", "[technique", "{", "ZgotmplZ"} {
				if at := strings.Index(body, bad); at >= 0 {
					t.Fatalf("%s %v: %q in the answer: %s", b.key, set, bad, body[max(0, at-80):min(len(body), at+80)])
				}
			}
		}
	}
}

// Surge numbers stand as ranges with two figures; the least pressure stands
// nowhere; the heading says what it is.
func TestChamberPageShowsRanges(t *testing.T) {
	body := html.UnescapeString(play(galleryServer(t), "chamber", false, nil).Body.String())
	for _, want := range []string{"reference model, not your machine", "63 to 140\u202fµL", "collapses with lines from 0.30", `name="bottle_cm"`, `type="range"`, `method="get"`} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	said := regexp.MustCompile(`(?s)<svg.*?</svg>`).ReplaceAllString(body, "")
	for _, never := range []string{"3.55", "3.6\u202fmmHg", "−2.8", "104.1"} {
		if strings.Contains(said, never) {
			t.Errorf("the page says %q", never)
		}
	}
}

// A settings' refusal stands on the page with what was typed.
func TestBenchRefuses(t *testing.T) {
	w := play(galleryServer(t), "chamber", false, map[string]string{"vacuum_limit_mmhg": "4000"})
	body := html.UnescapeString(w.Body.String())
	if w.Code != 422 || !strings.Contains(body, "outside 10 to 736 mmHg") || !strings.Contains(body, `value="4000"`) || strings.Contains(body, "<figure") {
		t.Error(w.Code, body)
	}
	for _, path := range []string{"/gallery/bench-chamber/bench/none", "/gallery/bench-chamber/bench/chamber/figure.svg?figure=none"} {
		if w := get(galleryServer(t), path); w.Code != 404 {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
}

// The commonly taught numbers contradict each other, and a set that holds is
// said to hold.
func TestClaimsPage(t *testing.T) {
	h := galleryServer(t)
	body := html.UnescapeString(play(h, "claims", false, nil).Body.String())
	for _, want := range []string{"cannot hold together", "98.6", "159\u202fµm", "513 000"} {
		if !strings.Contains(body, want) {
			t.Errorf("the taught set does not show %q", want)
		}
	}
	body = play(h, "claims", false, map[string]string{"acceleration_m_s2": "5030000", "stroke_mm": "0.159", "stroke_to_mm": ""}).Body.String()
	if !strings.Contains(body, "hold together within") {
		t.Error("a set that holds is not said to hold")
	}
}

var figureLink = regexp.MustCompile(`<a href="(/[^"]*figure\.svg[^"]*)"`)

// Every figure can be taken along as a file that stands alone: well formed, no
// token of the style sheet left, its parameters on it.
func TestFiguresStandAlone(t *testing.T) {
	h, n := galleryServer(t), 0
	for _, b := range benchPages() {
		body := play(h, b.key, false, nil).Body.String()
		links := figureLink.FindAllStringSubmatch(body, 2)
		for _, m := range links {
			w := get(h, html.UnescapeString(m[1]))
			svg := w.Body.String()
			if w.Code != 200 || w.Header().Get("Content-Type") != "image/svg+xml" || strings.Contains(svg, "var(--") {
				t.Fatalf("%s: %d %s", m[1], w.Code, svg)
			}
			for d := xml.NewDecoder(strings.NewReader(svg)); ; {
				if _, err := d.Token(); err == io.EOF {
					break
				} else if err != nil {
					t.Fatalf("%s: %v", m[1], err)
				}
			}
			if b.key == "chamber" && !strings.Contains(svg, "vacuum limit 400") {
				t.Error("the parameters do not stand on the picture")
			}
			n++
		}
	}
	if n < 8 {
		t.Errorf("only %d figures", n)
	}
}

// The colours of a file are the light theme's.
func TestPaperColours(t *testing.T) {
	a, err := loadAssets()
	if err != nil {
		t.Fatal(err)
	}
	light, _, _ := strings.Cut(string(a.files["linn.css"]), `[data-theme="dim"]`)
	for name, colour := range paperColours {
		if !strings.Contains(light, "--"+name+": "+colour+";") {
			t.Errorf("%s is not %s in the style sheet", name, colour)
		}
	}
}

// The script's answers bring the maps of the envelope one after the other.
func TestEnvelopeProgress(t *testing.T) {
	h := galleryServer(t)
	first := play(h, "envelope", true, nil).Body.String()
	if strings.Count(first, "<figure") != 1 || !strings.Contains(first, "Map 1 of 6") || !strings.Contains(first, "maps=2") {
		t.Error("the first answer is not one map with the way to the next")
	}
	last := play(h, "envelope", true, map[string]string{"maps": "6"}).Body.String()
	if strings.Count(last, "<figure") != 6 || strings.Contains(last, "hx-get") {
		t.Error("the last answer does not end")
	}
	if whole := play(h, "envelope", false, nil).Body.String(); strings.Count(whole, "<figure") != 6 {
		t.Error("without the script not all maps stand at once")
	}
}

func BenchmarkChamberAnswer(b *testing.B) {
	h, err := New(Options{Access: &canned{}, Gallery: true})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if w := play(h, "chamber", true, map[string]string{"bottle_cm": "95"}); w.Code != 200 {
			b.Fatal(w.Code)
		}
	}
}
