package main

import (
	"linn/finding"
	"linn/internal/locale"
)

// words are the texts of one language as the print asks for them.
type words struct{ lang locale.Language }

func (w words) T(key string, values ...finding.Value) string { return locale.T(w.lang, key, values...) }
func (w words) Finding(f finding.Finding) string             { return locale.Finding(w.lang, f) }
func (w words) Severity(s finding.Severity) string           { return locale.Severity(w.lang, s) }
func (w words) Field(key string) string                      { return locale.Field(w.lang, key) }
func (w words) Method(id string) string                      { return locale.Method(w.lang, id) }
