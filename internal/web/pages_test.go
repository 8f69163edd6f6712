package web

import (
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
)

func galleryServer(t *testing.T) http.Handler {
	t.Helper()
	h, err := New(Options{Access: &canned{}, Gallery: true, Version: "0.1.0"})
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func get(h http.Handler, url string) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest("GET", url, nil))
	return w
}

var (
	numberSpan = regexp.MustCompile(`<span class="num">([^<]*)(<[^>]*>)?`)
	pureNumber = regexp.MustCompile(`^(\d{1,3}|1\.3\d{3}|1[12]\d\.\d{2}|\d\.\d{3}|\d+\.\d{4}|\d\d\.\d\d|–|)$`) // place, chance, index, A constant, a0, step, nothing
)

// Every page of the gallery: headers, no inline style or script, each number
// with its unit, each message found.
func TestGalleryPages(t *testing.T) {
	h := galleryServer(t)
	for _, p := range GalleryPages() {
		t.Run(p.Name, func(t *testing.T) {
			w := get(h, p.URL())
			body := w.Body.String()
			if !strings.HasPrefix(p.Name, "error") && !strings.HasSuffix(p.Name, "-refused") && !strings.HasSuffix(p.Name, "conflict") && p.Name != "locked" && w.Code != http.StatusOK {
				t.Fatalf("status %d", w.Code)
			}
			if got := w.Header().Get("Content-Security-Policy"); got != contentPolicy {
				t.Errorf("content policy %q", got)
			}
			for _, bad := range []string{" style=", "<style", "onclick=", "javascript:", "ZgotmplZ", "[role.", "[finding.", "[sheet."} {
				if strings.Contains(body, bad) {
					t.Errorf("the page holds %q", bad)
				}
			}
			for _, m := range numberSpan.FindAllStringSubmatch(body, -1) {
				if m[2] == "</span>" && !pureNumber.MatchString(m[1]) && !strings.Contains(m[1], "mm") {
					t.Errorf("number without a unit: %q", m[0])
				}
			}
		})
	}
}

// Whose eye it is stands on every clinical view and print, with the words
// that lead the program's answers.
func TestClinicalPagesSayWhose(t *testing.T) {
	h := galleryServer(t)
	for _, p := range GalleryPages() {
		if !strings.HasPrefix(p.Name, "eye") && !strings.HasPrefix(p.Name, "sheet") && p.Name != "conflict" {
			continue
		}
		body := get(h, p.URL()).Body.String()
		name, id, side := "Maren Holm", "H-0412", "RIGHT EYE"
		if strings.HasSuffix(p.Name, "longest") {
			name, id = longestName, longestIdentifier
		}
		if p.Name == "eye-longest" {
			side = "LEFT EYE"
		}
		for _, want := range []string{name, id, side, "licensed surgeon", "same axial length"} {
			if !strings.Contains(body, want) {
				t.Errorf("%s does not say %q", p.Name, want)
			}
		}
	}
}

func TestSheetBeforeSigning(t *testing.T) {
	h := galleryServer(t)
	before, after := get(h, "/gallery/sheet-not-signed/case/c1/sheet").Body.String(), get(h, "/gallery/sheet/case/c1/sheet").Body.String()
	for _, c := range []struct {
		body, what string
		want       bool
	}{
		{before, ">NOT SIGNED</text>", true}, {after, ">NOT SIGNED</text>", false},
		{before, "00412", false}, {after, "00412", true},
		{before, `class="datamatrix"`, false}, {after, `class="datamatrix"`, true},
		{after, "Valid only for the list of Tue 3 March 2026", true},
	} {
		if strings.Contains(c.body, c.what) != c.want {
			t.Errorf("%q stands there: %v, want %v", c.what, !c.want, c.want)
		}
	}
	if n := strings.Count(before, ">NOT SIGNED</text>"); n != 3 {
		t.Errorf("NOT SIGNED stands %d times across the page, want 3", n)
	}
}

// Stops stand above everything else, before the first stage.
func TestStopsStandOnTop(t *testing.T) {
	body := get(galleryServer(t), "/gallery/eye-two-stops/case/c1").Body.String()
	first, stage := strings.Index(body, `class="stop-line"`), strings.Index(body, `class="stage"`)
	if first < 0 || first > stage || strings.Count(body, `class="stop-line"`) != 2 {
		t.Errorf("stops at %d, first stage at %d", first, stage)
	}
	if c, st := strings.Index(body, "finding caution"), strings.LastIndex(body, "finding stop"); c < st {
		t.Error("a caution stands above a stop")
	}
}

// No stage is shown that does not exist yet.
func TestOnlyStagesThatExist(t *testing.T) {
	body := get(galleryServer(t), "/gallery/eye-average/case/c1").Body.String()
	if n := strings.Count(body, `<section class="stage"`); n != 7 {
		t.Errorf("%d stages, want 7", n)
	}
}

func TestWardFilter(t *testing.T) {
	h := galleryServer(t)
	body := get(h, "/gallery/ward/ward?q=left+CAUTION").Body.String()
	if !strings.Contains(body, "Piet Sand") || strings.Contains(body, "Maren Holm") || !strings.Contains(body, "2 of 7 eyes") {
		t.Error("the filter does not keep exactly the rows with both words")
	}
	if !strings.Contains(body, `value="left CAUTION"`) {
		t.Error("the page does not show its filter")
	}
	if body := get(h, "/gallery/ward/ward?q=%3Cscript%3E").Body.String(); strings.Contains(body, "<script>") {
		t.Error("the filter is not escaped")
	}
}

func TestStaticFiles(t *testing.T) {
	h := galleryServer(t)
	a, err := loadAssets()
	if err != nil {
		t.Fatal(err)
	}
	css := get(h, a.url("linn.css"))
	if css.Code != 200 || !strings.Contains(css.Header().Get("Cache-Control"), "immutable") {
		t.Errorf("style sheet: %d, %q", css.Code, css.Header().Get("Cache-Control"))
	}
	for _, m := range regexp.MustCompile(`url\("([^"]+)"\)`).FindAllStringSubmatch(css.Body.String(), -1) {
		if w := get(h, a.url(m[1])); w.Code != 200 || w.Header().Get("Content-Type") != "font/woff2" {
			t.Errorf("%s: %d %s", m[1], w.Code, w.Header().Get("Content-Type"))
		}
	}
	for _, bad := range []string{"/static/0000/linn.css", a.url("../server.go"), a.url("axe-core/axe.min.js")} {
		if w := get(h, bad); w.Code == 200 {
			t.Errorf("%s was served", bad)
		}
	}
}
