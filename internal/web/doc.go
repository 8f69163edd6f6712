// Package web serves the pages people see. routes.go is the table of
// contents; each page is one file: a form is read, one verb of [Pathway] is
// called, its answer becomes a view of plain words and printed numbers, and a
// template lays it out. Templates hold no arithmetic and print no numbers of
// their own.
//
// Everything a page needs is embedded and comes from the program itself: the
// content policy forbids inline script and style and every other origin.
// Every page works without scripts; the scripts add saving while typing, the
// placed decimal point and filtering.
package web
