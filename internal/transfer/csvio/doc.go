// Package csvio reads tables of eyes and writes tables of answers, as a
// stream: memory does not grow with the file.
//
// A table is comma-separated text as RFC 4180 describes it, and what
// spreadsheets make of it: the delimiter is "," or ";" (told from the first
// line), lines end with LF, CRLF or CR, mixed if need be, a byte-order mark
// is accepted, and white space around a cell does not count. An empty cell
// is "not recorded". The first line names the columns; they are the words of
// linn.eye/1, flat:
//
//   - every eye key; the fellow eye's keys with "other_eye_" before them,
//   - every lens key (a, sf_mm, …, from_d, to_d, step_d, model, …),
//   - id, which names the row in the answer and defaults to the row number,
//   - lens_d, the power whose refraction is asked for,
//   - format, which must then say linn.eye/1,
//   - columns that begin with "x_", which are ignored.
//
// A column that is not known, or stands twice, refuses the file. A row that
// cannot be read is refused alone and the others are answered.
package csvio
