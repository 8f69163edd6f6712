package paper

import (
	"fmt"
	"io"
	"strconv"
	"strings"
)

// Keys is the print of a ward's recovery keys: one page a holder, to be kept
// by two people in two places.
type Keys struct {
	Ward   string // its folder
	MadeOn string
	Keys   []Key
}

// Key is one holder's key.
type Key struct{ Public, Secret string }

// keyGroup is how many signs of a key stand together, to be typed again.
const keyGroup = 4

// Write writes the pages as PDF.
func (k Keys) Write(w io.Writer, words Words) error {
	p := newPage(words, words.T("paper.keys.title"))
	for i := range k.Keys {
		if i > 0 {
			p.pdf.AddPage()
		}
		p.key(&k, i)
	}
	if p.err != nil {
		return p.err
	}
	if err := p.pdf.Output(w); err != nil {
		return fmt.Errorf("paper: %w", err)
	}
	return nil
}

// key is one holder's page: the key as groups and as a mark, what it is for,
// and what to do with it.
func (p *page) key(k *Keys, i int) {
	t := p.words.T
	y := margin + 9
	p.at(margin, y, t("paper.keys.title"), nameStyle)
	y = p.block(margin, y+9, width, t("paper.keys.which", value("n", strconv.Itoa(i+1)), value("of", strconv.Itoa(len(k.Keys))),
		value("ward", k.Ward), value("date", k.MadeOn)), plainStyle)
	p.at(margin, y+6, t("paper.keys.holder"), plainStyle)
	p.blank(margin+40, y+6, width-40)
	y += 16
	p.rule(y, 0.3)
	const edge = 44.0
	p.mark(right-edge, y+3, edge, k.Keys[i].Secret)
	top := y
	y += 10
	for _, row := range grouped(k.Keys[i].Secret) {
		p.at(margin, y, row, modelStyle)
		y += 9
	}
	y = max(y, top+edge+4)
	p.at(margin, y, t("paper.keys.public"), smallBold)
	p.at(margin, y+5, k.Keys[i].Public, smallStyle)
	y += 10
	p.rule(y, 0.3)
	y += 7
	for n := 1; n <= 6; n++ {
		y = p.block(margin, y, width, t("paper.keys.line."+strconv.Itoa(n)), plainStyle) + 2
	}
}

// grouped parts a key into rows of five groups of four signs; what every key
// begins with stands alone.
func grouped(secret string) (rows []string) {
	begins := min(len(secret), strings.LastIndexByte(secret, '-')+2)
	rows, secret = append(rows, secret[:begins]), secret[begins:]
	var row []string
	for len(secret) > 0 {
		n := min(keyGroup, len(secret))
		row, secret = append(row, secret[:n]), secret[n:]
		if len(row) == 5 || secret == "" {
			rows, row = append(rows, strings.Join(row, "  ")), nil
		}
	}
	return rows
}
