// Package dicomio reads what ophthalmic instruments write in DICOM: axial
// measurements, keratometry, refraction, acuity, lens calculations of another
// system, and reports in PDF.
//
// Parse reads one Part 10 file in implicit or explicit VR little endian; Bytes
// writes it again, unknown and private elements included. Read says what the
// file means: whose it is, and for each eye the values under the keys of
// linn.eye/1, as decimal text.
//
// The eye is carried by the sequence that holds the values; Measurement
// Laterality (0024,0113) must agree, and a file in which it does not is
// refused. Depth of the chamber is a segment whose meaning depends on the
// definition the file states: only the depth from the front of the cornea is
// taken. Keratometry carries no index: it is inferred from power and radius,
// and left out where two indices in use fit. A length is taken when the
// instrument says which was selected, or when there is only one.
//
// Bounds: MaxFile bytes, maxDepth nested sequences, maxElements elements; no
// element is longer than what remains of the file; values are not copied.
// Compressed and big-endian files are refused, as are character sets other
// than the default one, Latin 1 and UTF-8. What cannot be read is a
// finding.Refusal and gives nothing.
package dicomio
