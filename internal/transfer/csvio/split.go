package csvio

import (
	"errors"
	"io"
	"strings"
)

// maxRow bounds one row in bytes. A row of this format with every column
// filled takes under 2 KiB; what is longer is not a table of eyes.
const maxRow = 64 << 10

// chunkSize is how much text one worker takes at a time.
const chunkSize = 256 << 10

// errRowTooLong ends the reading: after such a row the structure of the rest
// cannot be trusted.
var errRowTooLong = errors.New("row too long")

// chunk is a run of whole rows.
type chunk struct {
	text string
	line int // of the first row, 1-based
	row  int // number of the first data row, 1-based
}

// chunker cuts a stream into chunks of whole rows.
type chunker struct {
	in    io.Reader
	delim byte
	buf   []byte
	held  int // bytes of buf that wait for more
	ended bool
	line  int
	row   int
}

func newChunker(in io.Reader, size int) *chunker {
	return &chunker{in: in, buf: make([]byte, size), line: 1, row: 1}
}

// header reads the first row that is not blank and leaves the rest in place.
// It tells the delimiter from it. The text is "" when there is none.
func (c *chunker) header() (text string, line int, err error) {
	if err := c.fill(); err != nil {
		return "", 0, err
	}
	data := string(c.buf[:c.held])
	at := 0
	if strings.HasPrefix(data, "\ufeff") {
		at = len("\ufeff")
	}
	for at < len(data) {
		c.delim = delimiter(data[at:])
		r, ok := nextRow(data[at:], c.delim, c.ended)
		if !ok {
			return "", c.line, errRowTooLong
		}
		text, line = data[at:at+r.length], c.line
		at += r.next
		c.line += r.lines
		if strings.TrimSpace(text) != "" {
			break
		}
		text = ""
	}
	c.held = copy(c.buf, c.buf[at:c.held])
	return text, line, nil
}

// next returns the next chunk, io.EOF after the last.
func (c *chunker) next() (chunk, error) {
	if err := c.fill(); err != nil {
		return chunk{}, err
	}
	if c.held == 0 {
		return chunk{}, io.EOF
	}
	out := chunk{text: string(c.buf[:c.held]), line: c.line, row: c.row}
	at := 0
	for at < len(out.text) {
		r, ok := nextRow(out.text[at:], c.delim, c.ended)
		if !ok {
			break
		}
		if !blank(out.text[at : at+r.length]) {
			c.row++
		}
		at += r.next
		c.line += r.lines
	}
	if at == 0 {
		return chunk{}, errRowTooLong
	}
	c.held = copy(c.buf, c.buf[at:c.held])
	out.text = out.text[:at]
	return out, nil
}

// fill reads until the buffer is full or the stream has ended. An error of
// the stream is its end only when it is io.EOF.
func (c *chunker) fill() error {
	for !c.ended && c.held < len(c.buf) {
		n, err := c.in.Read(c.buf[c.held:])
		c.held += n
		if errors.Is(err, io.EOF) {
			c.ended = true
		} else if err != nil {
			return err
		}
	}
	return nil
}

// extent is where a row lies in a text.
type extent struct {
	length int  // without its line end
	next   int  // where the next row begins
	lines  int  // physical lines it spans
	broken bool // its quotes do not balance: the row is its first line
}

// nextRow finds the first row of text. ok is false when its end is not in
// text and more may come, or when it is longer than maxRow.
func nextRow(text string, delim byte, last bool) (r extent, ok bool) {
	end := strings.IndexByte(text, '\n')
	body := text
	if end >= 0 {
		body = text[:end]
	}
	if len(body) > maxRow && strings.IndexByte(body[:maxRow], '\r') < 0 {
		return extent{}, false
	}
	if strings.IndexByte(body, '"') >= 0 {
		return quotedRow(text, delim, last)
	}
	return plainRow(text, body, end >= 0, last)
}

// plainRow ends a row without quotes at the first CR, CRLF or LF.
func plainRow(text, body string, ended, last bool) (extent, bool) {
	cr := strings.IndexByte(body, '\r')
	switch {
	case cr >= 0 && cr == len(text)-1 && !last: // a LF may follow
		return extent{}, false
	case cr >= 0:
		return extent{length: cr, next: cr + lineEnd(text[cr:]), lines: 1}, true
	case ended:
		return extent{length: len(body), next: len(body) + 1, lines: 1}, true
	case last:
		return extent{length: len(body), next: len(body), lines: 1}, true
	}
	return extent{}, false
}

// quotedRow walks a row that holds quotes; a line end inside quotes belongs
// to its cell. Quotes that never close, or are followed by more text, make
// the row broken; it then ends with its first line, so that one stray quote
// costs one row.
func quotedRow(text string, delim byte, last bool) (extent, bool) {
	start, lines := true, 1
	for i := 0; i < len(text) && i <= maxRow; {
		switch b := text[i]; {
		case b == '"' && start:
			n, inside, whole := quotedCell(text[i:])
			if !whole {
				if len(text)-i <= maxRow && !last {
					return extent{}, false
				}
				return brokenRow(text, last)
			}
			i, lines, start = i+n, lines+inside, false
			if i < len(text) && text[i] != delim && text[i] != '\n' && text[i] != '\r' {
				return brokenRow(text, last)
			}
		case b == '\n' || b == '\r':
			if b == '\r' && i == len(text)-1 && !last {
				return extent{}, false
			}
			return extent{length: i, next: i + lineEnd(text[i:]), lines: lines}, true
		default:
			start = b == delim
			i++
		}
	}
	if last && len(text) <= maxRow {
		return extent{length: len(text), next: len(text), lines: lines}, true
	}
	return extent{}, false
}

// quotedCell measures a quoted cell at the start of text, quotes included.
func quotedCell(text string) (length, lineEnds int, whole bool) {
	for i := 1; i < len(text) && i <= maxRow; i++ {
		switch text[i] {
		case '"':
			if i+1 < len(text) && text[i+1] == '"' {
				i++
				continue
			}
			return i + 1, lineEnds, true
		case '\n':
			lineEnds++
		case '\r':
			if i+1 == len(text) || text[i+1] != '\n' {
				lineEnds++
			}
		}
	}
	return 0, 0, false
}

func brokenRow(text string, last bool) (extent, bool) {
	end := strings.IndexAny(text, "\r\n")
	switch {
	case end < 0 && (!last || len(text) > maxRow), end > maxRow:
		return extent{}, false
	case end < 0:
		return extent{length: len(text), next: len(text), lines: 1, broken: true}, true
	}
	return extent{length: end, next: end + lineEnd(text[end:]), lines: 1, broken: true}, true
}

// lineEnd is the length of the line end at the start of text.
func lineEnd(text string) int {
	if strings.HasPrefix(text, "\r\n") {
		return 2
	}
	return 1
}

// blank reports whether a row holds nothing at all.
func blank(row string) bool { return strings.TrimSpace(row) == "" }

// delimiter tells "," from ";" by which the first line holds more often
// outside quotes.
func delimiter(text string) byte {
	commas, semicolons, quoted := 0, 0, false
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case '"':
			quoted = !quoted
		case '\n', '\r':
			if !quoted {
				i = len(text)
			}
		case ',':
			if !quoted {
				commas++
			}
		case ';':
			if !quoted {
				semicolons++
			}
		}
	}
	if semicolons > commas {
		return ';'
	}
	return ','
}

// cells cuts a row at its delimiters into dst: each cell unquoted, without
// the white space around it, and its byte offset in the row.
func cells(dst []cell, row string, delim byte) []cell {
	dst = dst[:0]
	for at := 0; ; {
		text, n := row[at:], 0
		if strings.HasPrefix(text, `"`) {
			if n, _, _ = quotedCell(text); n > 0 {
				inner := text[1 : n-1]
				if strings.IndexByte(inner, '"') >= 0 {
					inner = strings.ReplaceAll(inner, `""`, `"`)
				}
				dst = append(dst, cell{strings.TrimSpace(inner), at})
				if at += n; at >= len(row) {
					return dst
				}
				at++ // the delimiter: a row that is not broken has nothing else here
				continue
			}
		}
		n = strings.IndexByte(text, delim)
		if n < 0 {
			return append(dst, cell{strings.TrimSpace(text), at})
		}
		dst = append(dst, cell{strings.TrimSpace(text[:n]), at})
		at += n + 1
	}
}

type cell struct {
	text string
	at   int
}
