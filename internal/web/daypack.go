package web

import (
	"bytes"
	"crypto/aes"
	"crypto/cipher"
	"crypto/pbkdf2"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"regexp"
	"strconv"
	"strings"

	"linn/internal/locale"
	"linn/unit"
)

// DayPage is a day's list before it is locked.
type DayPage struct {
	Frame
	Date, Action string
	Code         string // opens the day pack; shown here only
	Lines        []DayLine
	Open         int
	Warn         string
}

// DayLine is one eye of the list.
type DayLine struct{ Place, Name, Identifier, Side, State string }

func (s *server) day(w http.ResponseWriter, r *http.Request, by Actor) error {
	d, err := s.Pathway.Day(r.Context(), by, r.PathValue("day"))
	if err != nil {
		return err
	}
	code, err := packCode()
	if err != nil {
		return err
	}
	v := DayPage{Frame: s.frame(r, by, s.t("list.heading", "date", s.date(d.Date)), "ward"), Date: s.date(d.Date), Code: code,
		Action: s.prefix + "/list/" + d.Date.String()}
	open := 0
	for _, e := range d.Eyes {
		line := DayLine{Name: e.Name, Identifier: e.Identifier, Side: s.side(e.Side), State: s.t("pack.open")}
		if e.Place > 0 {
			line.Place = strconv.Itoa(e.Place)
		}
		if e.Confirmed {
			line.State = s.t("sheet.number", "n", e.Number)
		} else {
			open++
		}
		v.Lines = append(v.Lines, line)
	}
	if open > 0 {
		v.Warn = s.t("pack.warn-open", "n", open)
	}
	return s.render(w, http.StatusOK, "day", "page", v)
}

// packLetters are digits and letters that nobody takes for one another; five
// bits each.
const packLetters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// packCode draws the code of a day pack: 80 bits in four groups of four.
func packCode() (string, error) {
	var raw [16]byte
	if _, err := rand.Read(raw[:]); err != nil {
		return "", fmt.Errorf("web: code of a day pack: %w", err)
	}
	var b strings.Builder
	for i, x := range raw {
		if i > 0 && i%4 == 0 {
			b.WriteByte('-')
		}
		b.WriteByte(packLetters[x&31])
	}
	return b.String(), nil
}

var packCodeShape = regexp.MustCompile(`^([0-9A-HJKMNP-TV-Z]{4}-){3}[0-9A-HJKMNP-TV-Z]{4}$`)

// packRounds make guessing the code slow. Source: OWASP Password Storage Cheat
// Sheet, PBKDF2 with HMAC-SHA-256, from memory; browsers offer no better one.
const packRounds = 600_000

// sealedPack is what stands in the file: AES-256-GCM under the code.
type sealedPack struct{ Box, Salt, IV string }

func sealPack(plain []byte, code string) (sealedPack, error) {
	var salt [16]byte
	var iv [12]byte
	_, errSalt := rand.Read(salt[:])
	_, errIV := rand.Read(iv[:])
	if errSalt != nil || errIV != nil {
		return sealedPack{}, fmt.Errorf("web: day pack: no random bytes")
	}
	key, err := pbkdf2.Key(sha256.New, strings.ReplaceAll(code, "-", ""), salt[:], packRounds, 32)
	if err != nil {
		return sealedPack{}, fmt.Errorf("web: day pack: %w", err)
	}
	block, err := aes.NewCipher(key)
	if err != nil {
		return sealedPack{}, fmt.Errorf("web: day pack: %w", err)
	}
	gcm, err := cipher.NewGCM(block)
	if err != nil {
		return sealedPack{}, fmt.Errorf("web: day pack: %w", err)
	}
	enc := base64.StdEncoding.EncodeToString
	return sealedPack{enc(gcm.Seal(nil, iv[:], plain, nil)), enc(salt[:]), enc(iv[:])}, nil
}

// packContent is what the file says once it is opened; every text is printed
// already.
type packContent struct {
	Date, Day, AsOf, Hospital, By string
	Eyes                          []packEye
}

// packEye is one eye. Cents is the power in hundredths of a dioptre, to be
// compared with what is typed; without a number nothing is confirmed.
type packEye struct {
	Place, Name, Identifier, About, Side, Number, Model, Power, Target, Allergies, State string
	Cents                                                                                int
}

func (s *server) packOf(d Day, by Actor) packContent {
	c := packContent{Date: s.date(d.Date), Day: d.Date.String(), AsOf: clock(d.AsOf), Hospital: d.Hospital, By: by.Name}
	for _, e := range d.Eyes {
		x := packEye{Name: e.Name, Identifier: e.Identifier, About: s.person(e.Identity), Side: s.side(e.Side), State: s.t("pack.open"), Allergies: s.t("sheet.allergies.none")}
		if e.Place > 0 {
			x.Place = strconv.Itoa(e.Place)
		}
		if e.Asked {
			x.Allergies = s.t("sheet.allergies.asked")
		}
		if len(e.Allergies) > 0 {
			x.Allergies = strings.Join(e.Allergies, ", ")
		}
		if e.Confirmed {
			x.Number, x.Model, x.Power, x.Target = e.Number, e.Model, reading(s.words, e.Power).String(), reading(s.words, e.Target).String()
			x.State, x.Cents = s.t("sheet.number", "n", e.Number), cents(e.Power.Value)
		}
		c.Eyes = append(c.Eyes, x)
	}
	return c
}

func cents(d unit.Dioptre) int {
	if d < 0 {
		return -int(-float64(d)*100 + 0.5)
	}
	return int(float64(d)*100 + 0.5)
}

// packWords are the texts that the opened file needs.
func (s *server) packWords() map[string]string {
	m := map[string]string{}
	for _, key := range locale.Keys(locale.English) {
		if name, ok := strings.CutPrefix(key, "pack.js."); ok {
			m[name] = s.t(key)
		}
	}
	return m
}

// packFile is the whole file: no request leaves it, and nothing in it changes
// the record.
var packFile = template.Must(template.New("pack").Parse(`<!doctype html>
<html lang="{{.Lang}}"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src data:; style-src data:; base-uri 'none'; form-action 'none'">
<title>{{.Title}}</title><link rel="stylesheet" href="{{.Style}}"></head>
<body data-box="{{.Box}}" data-salt="{{.Salt}}" data-iv="{{.IV}}" data-rounds="{{.Rounds}}" data-words="{{.Words}}"><main id="main"><h1>{{.Title}}</h1><p>{{.Lead}}</p>
<form id="open"><p><label for="code">{{.CodeLabel}}</label><input id="code" autocomplete="off" spellcheck="false" autofocus></p><p><button>{{.OpenLabel}}</button></p><p id="says" role="alert"></p></form></main>
<script src="{{.Script}}"></script></body></html>
`))

func (s *server) dayPack(w http.ResponseWriter, r *http.Request, by Actor) error {
	code := r.PostForm.Get("code")
	if !packCodeShape.MatchString(code) {
		return errBadForm
	}
	d, err := s.Pathway.LockDay(r.Context(), by, r.PathValue("day"))
	if err != nil {
		return err
	}
	plain, err := json.Marshal(s.packOf(d, by))
	if err != nil {
		return fmt.Errorf("web: day pack: %w", err)
	}
	sealed, err := sealPack(plain, code)
	if err != nil {
		return err
	}
	texts, err := json.Marshal(s.packWords())
	if err != nil {
		return fmt.Errorf("web: day pack: %w", err)
	}
	embed := func(kind, name string) template.URL {
		return template.URL("data:" + kind + ";base64," + base64.StdEncoding.EncodeToString(s.assets.files[name])) // our own file
	}
	var b bytes.Buffer
	err = packFile.Execute(&b, map[string]any{"Lang": string(s.lang), "Title": s.t("pack.title", "date", s.date(d.Date), "time", clock(d.AsOf)), "Lead": s.t("pack.lead"),
		"CodeLabel": s.t("pack.code"), "OpenLabel": s.t("pack.go"), "Box": sealed.Box, "Salt": sealed.Salt, "IV": sealed.IV, "Rounds": packRounds, "Words": string(texts),
		"Style": embed("text/css", "pack.css"), "Script": embed("text/javascript", "pack.js")})
	if err != nil {
		return fmt.Errorf("web: day pack: %w", err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="day-pack-`+d.Date.String()+`.html"`)
	_, err = b.WriteTo(w)
	return err
}

func (s *server) dayPrint(w http.ResponseWriter, r *http.Request, by Actor) error {
	var b bytes.Buffer // nothing goes out when it fails
	if err := s.Pathway.PrintDay(r.Context(), by, r.PathValue("day"), &b); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", `inline; filename="list.pdf"`)
	_, err := b.WriteTo(w)
	return err
}
