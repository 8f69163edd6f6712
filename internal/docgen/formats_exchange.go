package main

import "linn/internal/transfer/dicomio"

// exampleDicom is the answer to the sample lenses.dcm of internal/transfer/dicomio, shortened.
const exampleDicom = `{
  "format": "` + dicomio.Format + `", "object": "lens-calculation", "sop_instance_uid": "2.25.20261125008",
  "patient": {"name": "Thapa Maya é", "identifier": "H-0412", "birth_date": "1954-03-01", "sex": "female"},
  "measured_on": "2026-11-20", "device": "Demo Instruments Demo One, SN7",
  "eyes": [{"side": "right", "values": [{"key": "axial_length_mm", "value": "23.45"}],
    "other_system": {"formula": "SRK/T", "lens_model": "Demo A", "target_d": "-0.25", "constants": [{"name": "A-constant", "value": "118.7"}],
      "choices": [{"power_d": "21", "refraction_d": "-0.11"}, {"power_d": "21.5", "refraction_d": "-0.46", "chosen": true}]}}],
  "findings": []
}`

const dicomSchema = `{
  "type": "object",
  "required": ["format", "object", "sop_instance_uid", "patient", "eyes", "findings"],
  "properties": {
    "format": {"const": "` + dicomio.Format + `"},
    "object": {"enum": ["lensometry", "autorefraction", "keratometry", "subjective-refraction", "visual-acuity", "axial-length", "lens-calculation", "report"]},
    "sop_instance_uid": {"type": "string"},
    "patient": {"type": "object", "required": ["name", "identifier"]},
    "measured_on": {"type": "string"}, "device": {"type": "string"},
    "eyes": {"type": "array", "items": {"type": "object", "required": ["side", "values"], "properties": {
      "side": {"enum": ["right", "left"]},
      "values": {"type": "array", "items": {"type": "object", "required": ["key", "value"]}},
      "other_system": {"type": "object", "required": ["formula", "constants", "choices"]}}}},
    "report": {"type": "object", "required": ["title", "pdf"]},
    "findings": {"type": "array", "items": {"type": "object", "required": ["code", "severity"]}}
  }
}`

// dicomFormats describes what `linn dicom` reads and answers.
func dicomFormats(p *page) error {
	p.say("## %s: what an instrument's DICOM file says", dicomio.Format)
	p.say("`linn dicom FILE` reads one DICOM Part 10 file in implicit or explicit VR little endian: Lensometry, Autorefraction, Keratometry, Subjective Refraction, Visual Acuity and Ophthalmic Axial Measurements, Intraocular Lens Calculations, Encapsulated PDF. Nothing is kept. Refused: other objects and transfer syntaxes, files over 64 MiB, a length beyond the end, sequences deeper than 32, character sets other than the default one, ISO_IR 100 and ISO_IR 192, a laterality that does not agree with the eye that holds the values, and values outside the bounds of linn.eye/1.")
	p.say("`values` are decimal texts, float32 by the shortest text that reads back the same, under keys of linn.eye/1 and `linn audit`, and: `axial_length_snr` and `axial_length_sd_mm` (the instrument's quality), `add_d`, `decimal_acuity`, `acuity_at` (distance, near, intermediate, other), `acuity_with` (corrected, unaided, pinhole, habitual), `letters_more`, `letters_fewer`. The length is the selected one, or the only one. The depth of the chamber is taken only when its definition is from the front of the cornea. `keratometric_index` of a keratometry is inferred: 1 + K·r within 0.0003 of exactly one of 1.3375, 1.336, 1.332, 1.3315 on both meridians. `other_system` is another system's lens calculation and enters no result of this program. `report.pdf` is base64.")
	p.say("```json\n%s\n```", dicomSchema)
	p.say("Example:")
	p.say("```json\n%s\n```", exampleDicom)
	return nil
}
