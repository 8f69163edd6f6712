package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"
	"strconv"

	"linn/internal/pathway"
)

// exampleAnswer is what `linn lens --json` answers to exampleEye. Its numbers
// are rounded: the last bits differ between kinds of processor.
func exampleAnswer() (string, error) {
	answer, _, refused := pathway.Lens([]byte(exampleEye))
	if err := refused.Err(); err != nil {
		return "", fmt.Errorf("the example is refused: %w", err)
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(answer); err != nil {
		return "", err
	}
	return long.ReplaceAllStringFunc(string(bytes.TrimSpace(b.Bytes())), short), nil
}

// long is a JSON number with more than four decimals.
var long = regexp.MustCompile(`: -?\d+\.\d{5,}(e-?\d+)?`)

func short(s string) string {
	v, err := strconv.ParseFloat(s[2:], 64)
	if err != nil {
		return s
	}
	return ": " + strconv.FormatFloat(v, 'f', 4, 64)
}
