package main

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"linn/eye"
	"linn/finding"
)

// parseSettings reads the part of TOML that a file of settings needs: comments
// and lines `key = "text"` or `key = 'text'`. Everything else is refused with
// its line: a setting that is misread is worse than none.
func parseSettings(data []byte, known []string) (map[string]string, finding.Refusals) {
	found, refused := map[string]string{}, finding.Refusals(nil)
	if !utf8.Valid(data) {
		return nil, finding.Refusals{{Code: "settings-not-text"}}
	}
	n := 0
	for text := range strings.Lines(string(data)) {
		n++
		text = strings.TrimSpace(text)
		if text == "" || strings.HasPrefix(text, "#") {
			continue
		}
		key, rest, ok := strings.Cut(text, "=")
		key = strings.TrimSpace(key)
		value, read := tomlText(strings.TrimSpace(rest))
		refuse := func(code string, v ...finding.Value) {
			refused = append(refused, finding.Refusal{Code: code, Line: n, Column: 1, Values: v})
		}
		_, twice := found[key]
		switch {
		case !ok || !read:
			refuse("settings-line")
		case !slices.Contains(known, key):
			refuse("settings-key", finding.Value{Name: "got", Text: eye.Clip(key)}, finding.Value{Name: "nearest", Text: eye.Nearest(key, known)})
		case twice:
			refuse("settings-twice", finding.Value{Name: "got", Text: key})
		default:
			found[key] = value
		}
	}
	return found, refused
}

// tomlText reads one string with nothing but a comment behind it.
func tomlText(s string) (text string, ok bool) {
	switch {
	case strings.HasPrefix(s, "'"):
		end := strings.IndexByte(s[1:], '\'')
		return upTo(s, end+1), end >= 0 && onlyComment(s[end+2:])
	case strings.HasPrefix(s, `"`):
		quoted, err := strconv.QuotedPrefix(s)
		if err != nil || strings.Contains(quoted, `\x`) || strings.Contains(quoted, `\a`) || strings.Contains(quoted, `\v`) { // not escapes of TOML
			return "", false
		}
		text, err = strconv.Unquote(quoted)
		return text, err == nil && onlyComment(s[len(quoted):])
	}
	return "", false
}

func upTo(s string, end int) string {
	if end < 1 {
		return ""
	}
	return s[1:end]
}

func onlyComment(s string) bool {
	s = strings.TrimSpace(s)
	return s == "" || strings.HasPrefix(s, "#")
}
