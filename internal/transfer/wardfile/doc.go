// Package wardfile carries a whole ward as one file of text: from one engine
// to another, into a backup and out of it, to whoever reads it in twenty years
// with a text tool.
//
// The format is linn.ward-file/1: UTF-8, one JSON object a line, each with one
// key that says what it is.
//
//	{"ward":{"format","program","made_at","zone"}}        the first line
//	{"key":{"patient","secret"}}                          one a patient who is not erased
//	{"revision":{"kind","chain","number","format","at","zone","actor","payload","prev","hash"}}
//	{"access":{"at","zone","actor","what","patient","case","detail"}}
//	{"attachment":{"address","patient","box"}}            sealed files, in base64
//	{"end":{"first","revisions","keys","accesses","attachments","digest","ward_number","ward_hash","sha256"}}   the last line
//
// The revisions stand in the order of the whole record, their payload as the
// text that was stored, byte for byte, because the hashes cover it. The digest
// rolls over all of them: two wards with one digest hold the same revisions in
// the same order; sha256 is that of all lines before the last. Without its last line a file was cut off, and is refused.
//
// Only a record that verifies is written, and what is read is verified again
// before it is kept; all of it is kept, or nothing. Rows of the Ward and
// numbers of sheets follow from the revisions and are not in the file. After a
// reading the sheet numbers go on after a gap, because sheets may have been
// printed since the file was made.
//
// The file holds the patients' keys: whoever has it can read every name.
package wardfile
