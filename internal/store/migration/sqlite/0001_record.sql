-- The record: chains of write-once revisions, and what is derived from them.

PRAGMA application_id = 1818848878; -- 'linn' in ASCII

CREATE TABLE chain (
	kind TEXT NOT NULL,
	id   TEXT NOT NULL,
	PRIMARY KEY (kind, id)
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

CREATE TABLE patient_key (
	patient          TEXT PRIMARY KEY,
	secret           TEXT NOT NULL,
	destroyed_at     TEXT NOT NULL DEFAULT '',
	destroyed_by     TEXT NOT NULL DEFAULT '',
	destroyed_second TEXT NOT NULL DEFAULT ''
) STRICT, WITHOUT ROWID;

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
CREATE INDEX access_patient ON access (patient, number);
CREATE INDEX access_actor ON access (actor, number);

CREATE TABLE sheet (
	number  INTEGER PRIMARY KEY,
	case_id TEXT NOT NULL
) STRICT;

-- Projections: derived from the newest revisions, compared and rebuilt.

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
CREATE INDEX case_now_patient ON case_now (patient);
CREATE INDEX case_now_list ON case_now (list_date);

CREATE TABLE patient_now (
	id          TEXT PRIMARY KEY,
	sealed      TEXT NOT NULL,
	merged_into TEXT NOT NULL,
	erased      INTEGER NOT NULL,
	number      INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- Written once. REPLACE deletes without firing a delete trigger, so a second
-- insert is aborted before it can.

CREATE TRIGGER chain_update BEFORE UPDATE ON chain BEGIN SELECT RAISE(ABORT, 'chains are written once'); END;
CREATE TRIGGER chain_delete BEFORE DELETE ON chain BEGIN SELECT RAISE(ABORT, 'chains are written once'); END;
CREATE TRIGGER revision_update BEFORE UPDATE ON revision BEGIN SELECT RAISE(ABORT, 'revisions are written once'); END;
CREATE TRIGGER revision_delete BEFORE DELETE ON revision BEGIN SELECT RAISE(ABORT, 'revisions are written once'); END;
CREATE TRIGGER revision_replace BEFORE INSERT ON revision
	WHEN EXISTS (SELECT 1 FROM revision r WHERE r.sequence = NEW.sequence OR (r.kind = NEW.kind AND r.chain = NEW.chain AND r.number = NEW.number))
	BEGIN SELECT RAISE(ABORT, 'revisions are written once'); END;
CREATE TRIGGER access_update BEFORE UPDATE ON access BEGIN SELECT RAISE(ABORT, 'the access log is written once'); END;
CREATE TRIGGER access_delete BEFORE DELETE ON access BEGIN SELECT RAISE(ABORT, 'the access log is written once'); END;
CREATE TRIGGER access_replace BEFORE INSERT ON access
	WHEN EXISTS (SELECT 1 FROM access a WHERE a.number = NEW.number)
	BEGIN SELECT RAISE(ABORT, 'the access log is written once'); END;
CREATE TRIGGER sheet_update BEFORE UPDATE ON sheet BEGIN SELECT RAISE(ABORT, 'sheet numbers are given once'); END;
CREATE TRIGGER sheet_delete BEFORE DELETE ON sheet BEGIN SELECT RAISE(ABORT, 'sheet numbers are given once'); END;
CREATE TRIGGER sheet_replace BEFORE INSERT ON sheet
	WHEN EXISTS (SELECT 1 FROM sheet s WHERE s.number = NEW.number)
	BEGIN SELECT RAISE(ABORT, 'sheet numbers are given once'); END;

-- A key is destroyed by two people, and nothing else happens to it.

CREATE TRIGGER patient_key_delete BEFORE DELETE ON patient_key BEGIN SELECT RAISE(ABORT, 'keys are destroyed, not deleted'); END;
CREATE TRIGGER patient_key_replace BEFORE INSERT ON patient_key
	WHEN EXISTS (SELECT 1 FROM patient_key k WHERE k.patient = NEW.patient)
	BEGIN SELECT RAISE(ABORT, 'a patient has one key'); END;
CREATE TRIGGER patient_key_update BEFORE UPDATE ON patient_key
	WHEN NOT (OLD.secret <> '' AND NEW.secret = '' AND NEW.patient = OLD.patient AND NEW.destroyed_at <> ''
		AND NEW.destroyed_by <> '' AND NEW.destroyed_second <> '' AND NEW.destroyed_by <> NEW.destroyed_second)
	BEGIN SELECT RAISE(ABORT, 'keys are destroyed by two people'); END;
