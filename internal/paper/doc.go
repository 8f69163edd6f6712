// Package paper prints: the theatre sheet as one A4 page in black and white.
// The same sheet always gives the same bytes. The words come from the caller,
// the values from internal/care/sheet; nothing is computed here.
package paper
