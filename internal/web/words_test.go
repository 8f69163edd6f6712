package web

import (
	"io/fs"
	"os"
	"regexp"
	"strings"
	"testing"

	"linn/internal/care/casebook"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/unit"
)

func templateTexts(t *testing.T) map[string]string {
	t.Helper()
	names, err := fs.Glob(own, "templates/*.html")
	if err != nil || len(names) == 0 {
		t.Fatal("no templates", err)
	}
	m := map[string]string{}
	for _, n := range names {
		b, err := own.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		m[n] = string(b)
	}
	return m
}

// Text for people comes from the catalogue: no letters stand in a template
// outside tags and actions, but for the program's own name and command.
func TestTemplatesHoldNoText(t *testing.T) {
	allowed := strings.NewReplacer("linn serve --demo", "", "linn", "")
	action, tag, entity := regexp.MustCompile(`(?s){{.*?}}`), regexp.MustCompile(`(?s)<[^>]*>`), regexp.MustCompile(`&[#a-z0-9]+;`)
	for name, text := range templateTexts(t) {
		bare := entity.ReplaceAllString(tag.ReplaceAllString(action.ReplaceAllString(text, ""), ""), "")
		for _, line := range strings.Split(allowed.Replace(bare), "\n") {
			if regexp.MustCompile(`\pL`).MatchString(line) {
				t.Errorf("%s holds text: %q", name, strings.TrimSpace(line))
			}
		}
	}
}

// Templates hold no arithmetic, print no numbers and carry nothing inline.
func TestTemplatesAreDumb(t *testing.T) {
	for name, text := range templateTexts(t) {
		for _, bad := range []string{"printf", "style=", "onclick", "<script>", "<style", " add ", " mul "} {
			if i := strings.Index(text, bad); i >= 0 {
				t.Errorf("%s holds %q", name, bad)
			}
		}
	}
}

var (
	inTemplate = regexp.MustCompile(`\bt "([^"]+)"`)
	quoted     = regexp.MustCompile(`"([a-z][a-z0-9.-]+)"`)
	inGo       = regexp.MustCompile(`\b(?:s|w)\.t\("([^"]+)"([,)+ ])`)
)

// usedKeys lists the catalogue keys that stand in templates and code, and the
// prefixes that are completed at run time.
func usedKeys(t *testing.T) (keys, prefixes map[string]bool) {
	keys, prefixes = map[string]bool{}, map[string]bool{}
	for _, text := range templateTexts(t) {
		for _, m := range inTemplate.FindAllStringSubmatch(text, -1) {
			keys[m[1]] = true
		}
	}
	files, err := fs.Glob(os.DirFS("."), "*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range quoted.FindAllStringSubmatch(string(b), -1) {
			if !strings.HasSuffix(f, "_test.go") && locale.Has(m[1]) {
				keys[m[1]] = true
			}
		}
		for _, m := range inGo.FindAllStringSubmatch(string(b), -1) {
			if strings.HasSuffix(m[1], ".") {
				prefixes[m[1]] = true
			} else {
				keys[m[1]] = true
			}
		}
	}
	return keys, prefixes
}

func TestEveryKeyHasWords(t *testing.T) {
	keys, prefixes := usedKeys(t)
	for k := range keys {
		if !locale.Has(k) {
			t.Errorf("no words for %s", k)
		}
	}
	for p := range prefixes {
		found := false
		for _, k := range locale.Keys(locale.English) {
			found = found || strings.HasPrefix(k, p)
		}
		if !found {
			t.Errorf("no words begin with %s", p)
		}
	}
}

// Words that complete a key at run time exist for every value it can take.
func TestEveryChoiceHasWords(t *testing.T) {
	var keys []string
	add := func(prefix string, values ...string) {
		for _, v := range values {
			keys = append(keys, prefix+v)
		}
	}
	for _, r := range Roles {
		add("role.", string(r), string(r)+".may")
	}
	for _, side := range bothSides {
		r := Readings{Texts: map[string]string{}}
		s := &server{words: words{locale.English}}
		for _, key := range entryKeys {
			for _, o := range s.field(side, key, &r).Options {
				if strings.HasPrefix(o.Text, "[") {
					t.Errorf("no words for %s %s", key, o.Value)
				}
			}
		}
	}
	for _, n := range needs() {
		add("need.", n.Code, n.Code+".short")
	}
	add("confirm.", ConfirmItems...)
	add("closed.", ClosedWhy...)
	for _, v := range pathway.Verbs {
		add("log.verb.", string(v))
	}
	add("log.what.", casebook.AccessRead, casebook.AccessChange, casebook.AccessPrint, casebook.AccessExport)
	add("constant.", constantKeys...)
	add("model.", constantKeys...)
	add("origin.", "label", "published", "own-fitted", "converted")
	add("notice.", "calculation-off", "clock-behind")
	add("grade.", "a", "b", "c", "d")
	for _, f := range []string{"refused", "missing", "absent", "forbidden", "password", "tries", "form", "machine"} {
		add("error."+f, ".heading", ".way")
	}
	for _, k := range keys {
		if !locale.Has(k) {
			t.Errorf("no words for %s", k)
		}
	}
}

// Every message of the pages' catalogue is used somewhere.
func TestNoUnusedWords(t *testing.T) {
	keys, prefixes := usedKeys(t)
	for _, more := range []string{"need.", "entry.", "error.", "step.gallery.", "role.", "refused.", "field.", "notice.", "log.what.", "log.verb."} {
		prefixes[more] = true
	}
	b, err := os.ReadFile("../locale/en/pages.txt")
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(string(b), "\n") {
		key, _, ok := strings.Cut(line, " = ")
		if !ok || strings.HasPrefix(line, "#") || keys[key] {
			continue
		}
		used := false
		for p := range prefixes {
			used = used || strings.HasPrefix(key, p)
		}
		if !used {
			t.Errorf("%s is never said", key)
		}
	}
}

func TestNum(t *testing.T) {
	w := words{locale.English}
	for _, row := range []struct {
		got  Num
		want string
	}{
		{num(unit.Dioptre(21.5)), "+21.50\u202fD"},
		{num(unit.Dioptre(-0.25)), "−0.25\u202fD"},
		{num(unit.Axis(12)), "12°"},
		{num(unit.Index(1.3375)), "1.3375"},
		{reading(w, unit.Reading[unit.Millimetre]{Value: 23.41, Known: true, SD: 0.02}), "23.41\u202f±0.02\u202fmm"},
		{reading(w, unit.Reading[unit.Dioptre]{Value: -0.38, Known: true, SD: 0.51}), "−0.38\u202f±0.51\u202fD"},
		{unsigned(w, unit.Known(unit.Dioptre(43.25))), "43.25\u202fD"},
		{reading(w, unit.Reading[unit.Millimetre]{}), "not recorded"},
	} {
		if row.got.String() != row.want {
			t.Errorf("got %q, want %q", row.got, row.want)
		}
	}
}

func TestDates(t *testing.T) {
	w := words{locale.English}
	for _, row := range []struct {
		d    unit.Date
		want string
	}{
		{unit.Date{Year: 2026, Month: 3, Day: 3}, "Tue 3 March 2026"},
		{unit.Date{Year: 1958, Month: 3}, "March 1958"},
		{unit.Date{Year: 1958}, "1958"},
		{unit.Date{}, "no date"},
	} {
		if got := w.date(row.d); got != row.want {
			t.Errorf("date %v = %q, want %q", row.d, got, row.want)
		}
	}
}

func TestSentenceBegins(t *testing.T) {
	w := words{locale.English}
	if got := w.sentence(radiusFinding()); got == "" || capital(got) != got {
		t.Errorf("got %q", got)
	}
	if got := capital("ätna"); got != "Ätna" {
		t.Errorf("capital: %q", got)
	}
}
