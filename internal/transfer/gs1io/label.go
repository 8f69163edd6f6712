package gs1io

import (
	"encoding/hex"
	"strconv"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Label is one way to read a string. Raw is the string as it came, in hex.
type Label struct {
	Issuer   string            `json:"issuer"`
	Raw      string            `json:"raw_hex"`
	Product  string            `json:"product,omitempty"` // GTIN-14
	Lot      string            `json:"lot,omitempty"`
	Serial   string            `json:"serial,omitempty"`
	Part     string            `json:"part,omitempty"` // 241, else 240
	Made     unit.Date         `json:"made,omitzero"`
	Expiry   unit.Date         `json:"expiry,omitzero"`
	Elements []Element         `json:"elements,omitempty"`
	Findings []finding.Finding `json:"findings"`
}

// soon is our own limit in days for "expires soon": about three months.
const soon = 91

var (
	expired  = declare("label-expired", finding.Stop, "the date of use has passed", source.OwnChoice, source.Own)
	expires  = declare("label-expires-soon", finding.Caution, "91 days or fewer to the date of use", source.OwnChoice, source.Own)
	noExpiry = declare("label-no-expiry", finding.Caution, "no date of use in the code", source.OwnChoice, source.Own)
	noDay    = declare("label-no-day", finding.Note, "day 00: the last day of the month", source.GS1General, source.Secondary)
	noProd   = declare("label-no-product", finding.Caution, "no product number in the code", source.OwnChoice, source.Own)
	several  = declare("label-several-ways", finding.Caution, "without separators the code can be read in more than one way", source.GS1General, source.Secondary)
	foreign  = declare("label-other-issuer", finding.Caution, "not a GS1 string: kept as it came, not read", source.UDIFormats, source.Secondary)
	unknown  = declare("label-other-element", finding.Caution, "an identifier that is not one of those of implants", source.GS1Syntax, source.Read)
)

func declare(code string, s finding.Severity, limit string, key source.Key, g source.Grade) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: s, Limit: limit, Absolute: s == finding.Stop, Ref: source.Ref{Key: key, Where: "labels of implants", Grade: g}})
}

func otherIssuer(s string) string {
	switch {
	case s == "":
		return ""
	case s[0] == '+':
		return HIBCC
	case s[0] == '=' || s[0] == '&':
		return ICCBBA
	}
	return ""
}

func other(raw, issuer string) Label {
	return Label{Issuer: issuer, Raw: hex.EncodeToString([]byte(raw)), Findings: []finding.Finding{foreign.On("label"), noExpiry.On("label")}}
}

func labelOf(raw string, list []Element, today unit.Date, ways int) Label {
	l := Label{Issuer: GS1, Raw: hex.EncodeToString([]byte(raw)), Elements: list}
	if ways > 1 {
		l.Findings = append(l.Findings, several.On("label", finding.Value{Name: "n", Text: strconv.Itoa(ways)}))
	}
	dayless := false
	for _, e := range list {
		switch e.AI {
		case "01":
			l.Product = e.Text
		case "10":
			l.Lot = e.Text
		case "21":
			l.Serial = e.Text
		case "241":
			l.Part = e.Text
		case "240":
			if l.Part == "" {
				l.Part = e.Text
			}
		case "11":
			l.Made, _, _ = date(e.Text, today)
		case "17":
			l.Expiry, dayless, _ = date(e.Text, today)
		case "":
			l.Findings = append(l.Findings, unknown.On("label", finding.Value{Name: "got", Text: printable(e.Text)}))
		}
	}
	if l.Product == "" {
		l.Findings = append(l.Findings, noProd.On("label"))
	}
	if dayless {
		l.Findings = append(l.Findings, noDay.On("label", finding.Value{Name: "date", Text: l.Expiry.String()}))
	}
	l.Findings = append(l.Findings, onExpiry(l.Expiry, today)...)
	return l
}

// onExpiry judges a date of use; the day itself is the last good one.
func onExpiry(on, today unit.Date) []finding.Finding {
	days, ok := today.DaysUntil(on)
	values := []finding.Value{{Name: "date", Text: on.String()}, {Name: "today", Text: today.String()}}
	switch {
	case !ok:
		return []finding.Finding{noExpiry.On("label")}
	case days < 0:
		return []finding.Finding{expired.On("label", values...)}
	case days <= soon:
		return []finding.Finding{expires.On("label", values...)}
	}
	return nil
}
