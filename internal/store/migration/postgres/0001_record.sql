-- The record: chains of write-once revisions, and what is derived from them.

CREATE TABLE chain (
	kind TEXT COLLATE "C" NOT NULL,
	id   TEXT COLLATE "C" NOT NULL,
	PRIMARY KEY (kind, id)
);

CREATE TABLE revision (
	sequence BIGINT PRIMARY KEY,
	kind     TEXT COLLATE "C" NOT NULL,
	chain    TEXT COLLATE "C" NOT NULL,
	number   INTEGER NOT NULL CHECK (number > 0),
	format   TEXT COLLATE "C" NOT NULL,
	at       TEXT COLLATE "C" NOT NULL,
	zone     TEXT COLLATE "C" NOT NULL,
	actor    TEXT COLLATE "C" NOT NULL,
	payload  TEXT COLLATE "C" NOT NULL,
	prev     TEXT COLLATE "C" NOT NULL CHECK (length(prev) = 64),
	hash     TEXT COLLATE "C" NOT NULL CHECK (length(hash) = 64),
	UNIQUE (kind, chain, number),
	FOREIGN KEY (kind, chain) REFERENCES chain (kind, id)
);

CREATE TABLE patient_key (
	patient          TEXT COLLATE "C" PRIMARY KEY,
	secret           TEXT COLLATE "C" NOT NULL,
	destroyed_at     TEXT COLLATE "C" NOT NULL DEFAULT '',
	destroyed_by     TEXT COLLATE "C" NOT NULL DEFAULT '',
	destroyed_second TEXT COLLATE "C" NOT NULL DEFAULT ''
);

CREATE TABLE access (
	number  BIGINT PRIMARY KEY,
	at      TEXT COLLATE "C" NOT NULL,
	zone    TEXT COLLATE "C" NOT NULL,
	actor   TEXT COLLATE "C" NOT NULL,
	what    TEXT COLLATE "C" NOT NULL,
	patient TEXT COLLATE "C" NOT NULL,
	case_id TEXT COLLATE "C" NOT NULL,
	detail  TEXT COLLATE "C" NOT NULL
);
CREATE INDEX access_patient ON access (patient, number);
CREATE INDEX access_actor ON access (actor, number);

CREATE TABLE sheet (
	number  INTEGER PRIMARY KEY,
	case_id TEXT COLLATE "C" NOT NULL
);

-- Projections: derived from the newest revisions, compared and rebuilt.

CREATE TABLE case_now (
	id         TEXT COLLATE "C" PRIMARY KEY,
	patient    TEXT COLLATE "C" NOT NULL,
	side       TEXT COLLATE "C" NOT NULL,
	state      TEXT COLLATE "C" NOT NULL,
	list_date  TEXT COLLATE "C" NOT NULL,
	list_place TEXT COLLATE "C" NOT NULL,
	list_order INTEGER NOT NULL,
	model      TEXT COLLATE "C" NOT NULL,
	power_d    DOUBLE PRECISION NOT NULL,
	sheet      INTEGER NOT NULL,
	lacks      TEXT COLLATE "C" NOT NULL,
	number     INTEGER NOT NULL,
	changed    TEXT COLLATE "C" NOT NULL
);
CREATE INDEX case_now_patient ON case_now (patient);
CREATE INDEX case_now_list ON case_now (list_date);

CREATE TABLE patient_now (
	id          TEXT COLLATE "C" PRIMARY KEY,
	sealed      TEXT COLLATE "C" NOT NULL,
	merged_into TEXT COLLATE "C" NOT NULL,
	erased      INTEGER NOT NULL,
	number      INTEGER NOT NULL
);

-- Written once.

CREATE FUNCTION written_once() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	RAISE EXCEPTION '% is written once', TG_TABLE_NAME;
END $$;

CREATE TRIGGER chain_change BEFORE UPDATE OR DELETE ON chain FOR EACH ROW EXECUTE FUNCTION written_once();
CREATE TRIGGER chain_truncate BEFORE TRUNCATE ON chain EXECUTE FUNCTION written_once();
CREATE TRIGGER revision_change BEFORE UPDATE OR DELETE ON revision FOR EACH ROW EXECUTE FUNCTION written_once();
CREATE TRIGGER revision_truncate BEFORE TRUNCATE ON revision EXECUTE FUNCTION written_once();
CREATE TRIGGER access_change BEFORE UPDATE OR DELETE ON access FOR EACH ROW EXECUTE FUNCTION written_once();
CREATE TRIGGER access_truncate BEFORE TRUNCATE ON access EXECUTE FUNCTION written_once();
CREATE TRIGGER sheet_change BEFORE UPDATE OR DELETE ON sheet FOR EACH ROW EXECUTE FUNCTION written_once();
CREATE TRIGGER sheet_truncate BEFORE TRUNCATE ON sheet EXECUTE FUNCTION written_once();

-- A key is destroyed by two people, and nothing else happens to it.

CREATE FUNCTION destroyed_by_two() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	IF OLD.secret <> '' AND NEW.secret = '' AND NEW.patient = OLD.patient AND NEW.destroyed_at <> ''
		AND NEW.destroyed_by <> '' AND NEW.destroyed_second <> '' AND NEW.destroyed_by <> NEW.destroyed_second THEN
		RETURN NEW;
	END IF;
	RAISE EXCEPTION 'keys are destroyed by two people';
END $$;

CREATE TRIGGER patient_key_change BEFORE UPDATE ON patient_key FOR EACH ROW EXECUTE FUNCTION destroyed_by_two();
CREATE TRIGGER patient_key_delete BEFORE DELETE ON patient_key FOR EACH ROW EXECUTE FUNCTION written_once();
CREATE TRIGGER patient_key_truncate BEFORE TRUNCATE ON patient_key EXECUTE FUNCTION written_once();
