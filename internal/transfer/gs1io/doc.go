// Package gs1io reads what a scanner types when it is held against the box of
// an implant: element strings of the GS1 General Specifications.
//
//	01 product (GTIN-14)   10 lot   11 made on   17 use by   20 variant
//	21 serial   22 consumer variant   240 additional number   241 customer's part number
//	250 second serial   30 count
//
// A value of variable length ends at the separator FNC1, which a scanner sends
// as the control sign GS (ASCII 29). Some scanners swallow it. Then one string
// can be read in several ways; all of them are returned, the one with the
// fewest cuts first, and a person has to say which is printed on the box.
//
// Strings of other issuers are kept as they came, with a caution. Power,
// cylinder and model are not in the code: they are read from the print.
//
// Sources: GS1 syntax dictionary (formats), General Specifications (check
// digit, century, day 00; at second hand), a public document on device
// identifiers (example). If this package were wrong, an expired lens, or one
// that was implanted before, could pass, or a recalled lot not be found.
package gs1io
