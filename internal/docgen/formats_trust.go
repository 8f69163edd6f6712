package main

// exampleManifest is an invented backup.
const exampleManifest = `{
  "format": "linn.backup/1",
  "made_at": "2026-11-25T15:30:32.324Z",
  "zone": "Asia/Kathmandu",
  "program": "0.1.0",
  "file": "linn-20261125T153032.324Z.age",
  "bytes": 44274,
  "sha256": "1e9c4c14184f69d3e34c50bd6e36c917ca577893bcd9030939416e88624ad073",
  "recipients": ["age1…", "age1…"],
  "ward": {"first": "da0e7bb2938e1e8a8264af902dc98aacac1b8b0ebcdafe84b5bbbf1b31733aa4", "revisions": 159, "keys": 23, "accesses": 169,
    "digest": "129469ebd6bf3f80de69808ed11e071b570b5334ef29f2e84b455ba65b7d299c", "ward_number": 1,
    "ward_hash": "eeccb2711d429e4c1f03edd2ff8cb6bfc59a97a8ef16c100db2b1a13c7dcad18"}
}`

const manifestSchema = `{
  "type": "object",
  "required": ["format", "made_at", "zone", "program", "file", "bytes", "sha256", "recipients", "ward"],
  "properties": {
    "format": {"const": "linn.backup/1"},
    "made_at": {"type": "string", "format": "date-time"}, "zone": {"type": "string"}, "program": {"type": "string"},
    "file": {"type": "string", "pattern": "\\.age$"}, "bytes": {"type": "integer"}, "sha256": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
    "recipients": {"type": "array", "items": {"type": "string"}},
    "ward": {"type": "object", "required": ["first", "revisions", "keys", "accesses", "digest", "ward_number", "ward_hash"]}
  },
  "additionalProperties": false
}`

const recallSchema = `{
  "type": "object",
  "required": ["format", "touched"],
  "properties": {
    "format": {"const": "linn.recall/1"},
    "touched": {"type": "array", "items": {"type": "object",
      "required": ["case", "side", "revision", "at", "what", "sheet", "list_date", "in_force", "operated", "where"],
      "properties": {
        "case": {"type": "string"}, "side": {"enum": ["right", "left"]}, "revision": {"type": "integer"}, "at": {"type": "string", "format": "date-time"},
        "what": {"enum": ["signed-plan", "eye"]}, "sheet": {"type": ["integer", "null"]}, "list_date": {"type": ["string", "null"]},
        "in_force": {"type": "boolean"}, "operated": {"type": "boolean"}, "where": {"type": "array", "items": {"type": "string"}},
        "name": {"type": "string"}, "identifier": {"type": "string"}}}}
  }
}`

const exampleRecall = `{"format":"linn.recall/1","touched":[{"case":"01a21354-5b33-798e-b4f5-d755d73cc103","side":"right","revision":7,"at":"2026-11-25T15:30:25Z","what":"signed-plan","sheet":1,"list_date":"2026-11-25","in_force":true,"operated":false,"where":["srk-t 1"]}]}`

const exampleWardFile = `{"ward":{"format":"linn.ward-file/1","program":"0.1.0","made_at":"2026-11-25T15:30:33.602948893Z","zone":"Asia/Kathmandu"}}
{"key":{"patient":"01a21354-…","secret":"64 hexadecimal digits"}}
{"revision":{"kind":"patient","chain":"01a21354-…","number":1,"format":"linn.patient/1","at":"…","zone":"…","actor":"…","payload":"{\"verb\":\"open\",…}","prev":"…","hash":"…"}}
{"access":{"at":"…","zone":"…","actor":"…","what":"read","patient":"01a21354-…","case":"…","detail":"eye"}}
{"end":{"first":"…","revisions":1,"keys":1,"accesses":1,"digest":"…","ward_number":0,"ward_hash":"…","sha256":"…"}}`

// trustFormats describes the files of a whole ward.
func trustFormats(p *page) {
	p.say("## linn.ward-file/1: a whole ward")
	p.say("What `linn export` writes and `linn import` reads, and what is inside a backup: UTF-8, one JSON object a line, each with one key that says what the line is. Keys come first, then every revision in the order of the record, then the access log. `payload` is the stored text, byte for byte. A revision's `hash` is SHA-256 of previous hash, kind, format, instant with zone, actor and payload, each preceded by its length as eight bytes; `digest` rolls over the hashes of all revisions; `sha256` is that of all lines before the last. A file without its last line was cut off. The file is not encrypted and holds the patients' keys.")
	p.say("```\n%s\n```", exampleWardFile)
	p.say("## linn.backup/1: the manifest of a backup")
	p.say("Lies in plain beside the encrypted file and names nobody. The encrypted file is the ward file, compressed with gzip, in the age format, version 1 (age-encryption.org/v1), for one X25519 recipient a holder; any program that reads age opens it: `age -d -i KEY FILE.age | gzip -d`.")
	p.say("```json\n%s\n```", manifestSchema)
	p.say("Example, invented:")
	p.say("```json\n%s\n```", exampleManifest)
	p.say("## linn.recall/1: what a recalled thing touched")
	p.say("The answer of `linn recall --json`. Every signed plan is a row, also one that was reopened since (`in_force` false); an eye that the thing touched without a signed plan is one row. `name` and `identifier` only with `--names`.")
	p.say("```json\n%s\n```", recallSchema)
	p.say("```json\n%s\n```", exampleRecall)
}
