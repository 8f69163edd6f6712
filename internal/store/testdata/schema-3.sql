PRAGMA application_id = 1818848878;
CREATE TABLE access (
	number  INTEGER PRIMARY KEY,
	at      TEXT NOT NULL,
	zone    TEXT NOT NULL,
	actor   TEXT NOT NULL,
	what    TEXT NOT NULL,
	patient TEXT NOT NULL,
	case_id TEXT NOT NULL,
	detail  TEXT NOT NULL
) STRICT;
CREATE TABLE attachment (
	address TEXT PRIMARY KEY CHECK (length(address) = 64),
	patient TEXT NOT NULL,
	box     BLOB NOT NULL
) STRICT;
CREATE TABLE case_now (
	id         TEXT PRIMARY KEY,
	patient    TEXT NOT NULL,
	side       TEXT NOT NULL,
	state      TEXT NOT NULL,
	list_date  TEXT NOT NULL,
	list_place TEXT NOT NULL,
	list_order INTEGER NOT NULL,
	model      TEXT NOT NULL,
	power_d    REAL NOT NULL,
	sheet      INTEGER NOT NULL,
	lacks      TEXT NOT NULL,
	number     INTEGER NOT NULL,
	changed    TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE chain (
	kind TEXT NOT NULL,
	id   TEXT NOT NULL,
	PRIMARY KEY (kind, id)
) STRICT, WITHOUT ROWID;
CREATE TABLE operated_now (
	id          TEXT PRIMARY KEY,
	patient     TEXT NOT NULL,
	side        TEXT NOT NULL,
	operated_on TEXT NOT NULL,
	bed         TEXT NOT NULL,
	due_from    TEXT NOT NULL,
	due_until   TEXT NOT NULL,
	number      INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE patient_key (
	patient          TEXT PRIMARY KEY,
	secret           TEXT NOT NULL,
	destroyed_at     TEXT NOT NULL DEFAULT '',
	destroyed_by     TEXT NOT NULL DEFAULT '',
	destroyed_second TEXT NOT NULL DEFAULT ''
) STRICT, WITHOUT ROWID;
CREATE TABLE patient_now (
	id          TEXT PRIMARY KEY,
	sealed      TEXT NOT NULL,
	merged_into TEXT NOT NULL,
	erased      INTEGER NOT NULL,
	number      INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE revision (
	sequence INTEGER PRIMARY KEY,
	kind     TEXT NOT NULL,
	chain    TEXT NOT NULL,
	number   INTEGER NOT NULL CHECK (number > 0),
	format   TEXT NOT NULL,
	at       TEXT NOT NULL,
	zone     TEXT NOT NULL,
	actor    TEXT NOT NULL,
	payload  TEXT NOT NULL,
	prev     TEXT NOT NULL CHECK (length(prev) = 64),
	hash     TEXT NOT NULL CHECK (length(hash) = 64),
	UNIQUE (kind, chain, number),
	FOREIGN KEY (kind, chain) REFERENCES chain (kind, id)
) STRICT;
CREATE TABLE schema_version (version INTEGER PRIMARY KEY);
CREATE TABLE sheet (
	number  INTEGER PRIMARY KEY,
	case_id TEXT NOT NULL
) STRICT;
INSERT INTO access VALUES (1, '2026-03-04T03:20:00.000000000Z', '+05:45', 'ann', 'read', 'P', '', '');
INSERT INTO attachment VALUES ('aa76141e8a4ebff63f96b1789715621272a1181ab3857dd247cbe29932eceea0', 'P', X'062AF5111B7E12966BB1FC386DAF2EED5FF686BCA23AE335FFEF7703CA47934FD97C54A9B8309E9B01CB4DA8');
INSERT INTO case_now VALUES ('C', 'P', 'right', 'closed', '', '', 0, '', 0.0, 0, 'axial_length_mm,k_flat_d,k_steep_d,second-entry,target_d,lens,list,read-back', 5, '2026-03-04T03:24:00.000000000Z');
INSERT INTO case_now VALUES ('K', 'Q', 'right', 'open', '', '', 0, '', 0.0, 0, 'axial_length_mm,k_flat_d,k_steep_d,second-entry,target_d,lens,list,read-back,signature', 1, '2026-03-04T03:15:00.000000000Z');
INSERT INTO chain VALUES ('case', 'C');
INSERT INTO chain VALUES ('case', 'K');
INSERT INTO chain VALUES ('lens', 'tarn-2');
INSERT INTO chain VALUES ('patient', 'P');
INSERT INTO chain VALUES ('patient', 'Q');
INSERT INTO chain VALUES ('person', 'ann');
INSERT INTO chain VALUES ('protocol', 'local');
INSERT INTO chain VALUES ('ward', 'ward');
INSERT INTO operated_now VALUES ('C', 'P', 'right', '2026-03-05', '3', '2026-03-10', '2026-03-15', 5);
INSERT INTO patient_key VALUES ('P', '0100000000000000000000000000000000000000000000000000000000000000', '', '', '');
INSERT INTO patient_key VALUES ('Q', '', '2026-03-04T03:18:00.000000000Z', 'ann', 'bo');
INSERT INTO patient_now VALUES ('P', 'auZ4P0+96RtuuItzOrbis9pvgwa730PIlLzeWobl1S4RvuqYP4dZKfY6oUUegAP/urBYahcVEjVbLRSM04sEkxzgSPwhNZjpunqy2OXrdWPtxyKrJyyYd8zPXI8KOZLsUKlsuOW4tx6j0Pyf', '', 0, 1);
INSERT INTO patient_now VALUES ('Q', '', '', 1, 2);
INSERT INTO revision VALUES (1, 'patient', 'P', 1, 'linn.patient/1', '2026-03-04T03:15:00.000000000Z', '+05:45', 'ann', '{"verb":"open","sealed":"auZ4P0+96RtuuItzOrbis9pvgwa730PIlLzeWobl1S4RvuqYP4dZKfY6oUUegAP/urBYahcVEjVbLRSM04sEkxzgSPwhNZjpunqy2OXrdWPtxyKrJyyYd8zPXI8KOZLsUKlsuOW4tx6j0Pyf"}', '7c702fed7a19ee36d2413d7dfe247c076d2ee6aba87358e705199a28f2b07862', 'ab5a5c68ed6b399ffff6f3089054d4624e39cb00a44e38dcb2dae0b2f842d9df');
INSERT INTO revision VALUES (2, 'case', 'C', 1, 'linn.case/1', '2026-03-04T03:15:00.000000000Z', '+05:45', 'ann', '{"patient":"P","side":"right","verb":"open","eye":{}}', '3cd09cc0ba7aad6852e11e6502866ef7700c5b2a75d2027eaf5c3175a33bc6b5', 'f96b95c20c07850807acd15e357a1dd5f3ab8d28ad7d6aa575093c35168c138b');
INSERT INTO revision VALUES (3, 'patient', 'Q', 1, 'linn.patient/1', '2026-03-04T03:15:00.000000000Z', '+05:45', 'ann', '{"verb":"open","sealed":"auZ4P0+96RtuuItzz26d+PbI8rT8N1fexBmgGIWurmx6BbACehDFy2NNVbVoJ3Xq4TXrmn+4kVsM2DgMmjj1WWfJ3cGlJtzPyzXPvcnWQD6jlG/E7OhBzuQm1lw9c8CcKk/xnIydjM+bF9k3"}', 'a340a2adbb645cfabc17f2daace7364858df5ee55be426e92e24d72bde696ba5', 'c039aafb2ffad5e4d815a547ff138dd52995b3d3fe89b9614cf92af06d100696');
INSERT INTO revision VALUES (4, 'case', 'K', 1, 'linn.case/1', '2026-03-04T03:15:00.000000000Z', '+05:45', 'ann', '{"patient":"Q","side":"right","verb":"open","eye":{}}', 'd2ae4e377bdf4fc56d29dfba68ea6235ad564e5d2e680904b79ff582e92282cf', '36bf2326aeee7c47e392407d3aed3a34ac72c66a3caf47e08962b07c13779dc3');
INSERT INTO revision VALUES (5, 'case', 'C', 2, 'linn.case/1', '2026-03-04T03:15:00.000000000Z', '+05:45', 'ann', '{"patient":"P","side":"right","verb":"open","eye":{},"target":"1"}', 'f96b95c20c07850807acd15e357a1dd5f3ab8d28ad7d6aa575093c35168c138b', '611ed94909cd43ea3168051f523b8ef0a47ebd5a6eb393ea17d26be514aaad44');
INSERT INTO revision VALUES (6, 'case', 'C', 3, 'linn.case/1', '2026-03-04T03:16:00.000000000Z', '+05:45', 'ann', '{"patient":"P","side":"right","verb":"open","eye":{},"target":"2"}', '611ed94909cd43ea3168051f523b8ef0a47ebd5a6eb393ea17d26be514aaad44', 'edeb276e8389bacad2f3525fe6b61fd4092a5a1b7154021fc795614f7900ccec');
INSERT INTO revision VALUES (7, 'case', 'C', 4, 'linn.case/1', '2026-03-04T03:17:00.000000000Z', '+05:45', 'ann', '{"patient":"P","side":"right","verb":"open","eye":{},"target":"3"}', 'edeb276e8389bacad2f3525fe6b61fd4092a5a1b7154021fc795614f7900ccec', '2b98d9d270989316de11874694d9b540bfbca4dcdcff9428fd4a00830e640a4f');
INSERT INTO revision VALUES (8, 'ward', 'ward', 1, 'linn.ward/1', '2026-03-04T03:24:00.000000000Z', '+05:45', 'ann', '{"verb":"heads","reason":"backup","through":7,"chains":4,"heads":[{"kind":"case","chain":"C","number":4,"hash":"2b98d9d270989316de11874694d9b540bfbca4dcdcff9428fd4a00830e640a4f"},{"kind":"case","chain":"K","number":1,"hash":"36bf2326aeee7c47e392407d3aed3a34ac72c66a3caf47e08962b07c13779dc3"},{"kind":"patient","chain":"P","number":1,"hash":"ab5a5c68ed6b399ffff6f3089054d4624e39cb00a44e38dcb2dae0b2f842d9df"},{"kind":"patient","chain":"Q","number":1,"hash":"c039aafb2ffad5e4d815a547ff138dd52995b3d3fe89b9614cf92af06d100696"}]}', '9da65505646ae596b4989f8a4b1b78ee5e1ad1a828f124bdea3cf09444ee6f3d', 'f6e7cf7c0e289c68eb37918aae331a28750dd8e6e74e66f46488ecd9c683351d');
INSERT INTO revision VALUES (9, 'patient', 'Q', 2, 'linn.patient/1', '2026-03-04T03:18:00.000000000Z', '+05:45', 'ann', '{"verb":"erase","reason":"order","erased":true,"second":"bo"}', 'c039aafb2ffad5e4d815a547ff138dd52995b3d3fe89b9614cf92af06d100696', '79b00ecf17a16e7b4739beedd57ba2a47f82e0b11e768b89954c90d35632e86a');
INSERT INTO revision VALUES (10, 'case', 'C', 5, 'linn.case/1', '2026-03-04T03:24:00.000000000Z', '+05:45', 'ann', '{"patient":"P","side":"right","verb":"operate","eye":{},"target":"3","closed":"operated","operation":{"values":{"operated_on":"2026-03-05","technique":"phaco"},"done":{"by":"ann","at":"2026-03-04T03:24:00Z"}},"bed":"3","visits":[{"on":"2026-03-06","kind":"day-1","values":{"unaided_va":"6/12"}}],"attached":[{"address":"aa76141e8a4ebff63f96b1789715621272a1181ab3857dd247cbe29932eceea0","type":"application/pdf","size":16,"what":"theatre-sheet","by":"ann","at":"2026-03-04T03:24:00Z"}]}', '2b98d9d270989316de11874694d9b540bfbca4dcdcff9428fd4a00830e640a4f', 'ad65308a1d3bad257fdfc5d0c2876fcdf59826e2b8568316c34d9e46c1ea187f');
INSERT INTO revision VALUES (11, 'protocol', 'local', 1, 'linn.protocol/1', '2026-03-04T03:19:00.000000000Z', '+05:45', 'ann', '{"verb":"","reading_age_days":180}', '5abd4d9499da3f969bf7df36b8233b9fb582026e663f06201db777fc695a01ed', '079ece95df402d66ea11073d44c10e92bd41dc273aff852d6075d189baa1a4ba');
INSERT INTO revision VALUES (12, 'person', 'ann', 1, 'linn.person/1', '2026-03-04T03:19:00.000000000Z', '+05:45', 'ann', '{"verb":"","name":"Ann O''Example","role":"surgeon","active":true}', 'd3240344bc42df3839a95af145d443f7bf2e6630db836db593044d2c69cd3b41', 'f1f8e13eca45b75e5c153afabf3a59bdc9e3f6e30bf6082e889c218ab5ab6460');
INSERT INTO revision VALUES (13, 'lens', 'tarn-2', 1, 'linn.lens-model/1', '2026-03-04T03:19:00.000000000Z', '+05:45', 'ann', '{"verb":"","model":"Tarn 2","constants":[{"method":"","name":"a","value":118.5,"origin":"label"}]}', '8dbd123bcf3961106885c8c54b86c9e140f6f5e1b159573830d4c23101ec75ab', '96d4d1a7a4868e846f447444e8497be821fb58f4788313611115e870b8d197ab');
INSERT INTO schema_version VALUES (1);
INSERT INTO schema_version VALUES (2);
INSERT INTO schema_version VALUES (3);
INSERT INTO sheet VALUES (1, 'C');
CREATE INDEX access_actor ON access (actor, number);
CREATE TRIGGER access_delete BEFORE DELETE ON access BEGIN SELECT RAISE(ABORT, 'the access log is written once'); END;
CREATE INDEX access_patient ON access (patient, number);
CREATE TRIGGER access_replace BEFORE INSERT ON access
	WHEN EXISTS (SELECT 1 FROM access a WHERE a.number = NEW.number)
	BEGIN SELECT RAISE(ABORT, 'the access log is written once'); END;
CREATE TRIGGER access_update BEFORE UPDATE ON access BEGIN SELECT RAISE(ABORT, 'the access log is written once'); END;
CREATE TRIGGER attachment_delete BEFORE DELETE ON attachment BEGIN SELECT RAISE(ABORT, 'attachments are written once'); END;
CREATE TRIGGER attachment_replace BEFORE INSERT ON attachment
	WHEN EXISTS (SELECT 1 FROM attachment a WHERE a.address = NEW.address)
	BEGIN SELECT RAISE(ABORT, 'attachments are written once'); END;
CREATE TRIGGER attachment_update BEFORE UPDATE ON attachment BEGIN SELECT RAISE(ABORT, 'attachments are written once'); END;
CREATE INDEX case_now_list ON case_now (list_date);
CREATE INDEX case_now_open ON case_now (list_date, list_order, id) WHERE state <> 'closed';
CREATE INDEX case_now_patient ON case_now (patient);
CREATE TRIGGER chain_delete BEFORE DELETE ON chain BEGIN SELECT RAISE(ABORT, 'chains are written once'); END;
CREATE TRIGGER chain_update BEFORE UPDATE ON chain BEGIN SELECT RAISE(ABORT, 'chains are written once'); END;
CREATE INDEX operated_now_due ON operated_now (due_from);
CREATE INDEX operated_now_on ON operated_now (operated_on);
CREATE TRIGGER patient_key_delete BEFORE DELETE ON patient_key BEGIN SELECT RAISE(ABORT, 'keys are destroyed, not deleted'); END;
CREATE TRIGGER patient_key_replace BEFORE INSERT ON patient_key
	WHEN EXISTS (SELECT 1 FROM patient_key k WHERE k.patient = NEW.patient)
	BEGIN SELECT RAISE(ABORT, 'a patient has one key'); END;
CREATE TRIGGER patient_key_update BEFORE UPDATE ON patient_key
	WHEN NOT (OLD.secret <> '' AND NEW.secret = '' AND NEW.patient = OLD.patient AND NEW.destroyed_at <> ''
		AND NEW.destroyed_by <> '' AND NEW.destroyed_second <> '' AND NEW.destroyed_by <> NEW.destroyed_second)
	BEGIN SELECT RAISE(ABORT, 'keys are destroyed by two people'); END;
CREATE INDEX patient_now_merged ON patient_now (merged_into) WHERE merged_into <> '';
CREATE TRIGGER revision_delete BEFORE DELETE ON revision BEGIN SELECT RAISE(ABORT, 'revisions are written once'); END;
CREATE TRIGGER revision_replace BEFORE INSERT ON revision
	WHEN EXISTS (SELECT 1 FROM revision r WHERE r.sequence = NEW.sequence OR (r.kind = NEW.kind AND r.chain = NEW.chain AND r.number = NEW.number))
	BEGIN SELECT RAISE(ABORT, 'revisions are written once'); END;
CREATE TRIGGER revision_update BEFORE UPDATE ON revision BEGIN SELECT RAISE(ABORT, 'revisions are written once'); END;
CREATE TRIGGER sheet_delete BEFORE DELETE ON sheet BEGIN SELECT RAISE(ABORT, 'sheet numbers are given once'); END;
CREATE TRIGGER sheet_replace BEFORE INSERT ON sheet
	WHEN EXISTS (SELECT 1 FROM sheet s WHERE s.number = NEW.number)
	BEGIN SELECT RAISE(ABORT, 'sheet numbers are given once'); END;
CREATE TRIGGER sheet_update BEFORE UPDATE ON sheet BEGIN SELECT RAISE(ABORT, 'sheet numbers are given once'); END;
