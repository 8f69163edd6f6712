-- After the operation: sealed files beside the record, and the operated eyes.

CREATE TABLE attachment (
	address TEXT COLLATE "C" PRIMARY KEY CHECK (length(address) = 64),
	patient TEXT COLLATE "C" NOT NULL,
	box     BYTEA NOT NULL
);
ALTER TABLE attachment ALTER COLUMN box SET STORAGE EXTERNAL; -- ciphertext does not compress

CREATE TRIGGER attachment_change BEFORE UPDATE OR DELETE ON attachment FOR EACH ROW EXECUTE FUNCTION written_once();
CREATE TRIGGER attachment_truncate BEFORE TRUNCATE ON attachment EXECUTE FUNCTION written_once();

CREATE TABLE operated_now (
	id          TEXT COLLATE "C" PRIMARY KEY,
	patient     TEXT COLLATE "C" NOT NULL,
	side        TEXT COLLATE "C" NOT NULL,
	operated_on TEXT COLLATE "C" NOT NULL,
	bed         TEXT COLLATE "C" NOT NULL,
	due_from    TEXT COLLATE "C" NOT NULL,
	due_until   TEXT COLLATE "C" NOT NULL,
	number      INTEGER NOT NULL
);
CREATE INDEX operated_now_on ON operated_now (operated_on);
CREATE INDEX operated_now_due ON operated_now (due_from);

-- Cases that were closed as operated before there was a record of operations.
INSERT INTO operated_now (id, patient, side, operated_on, bed, due_from, due_until, number)
	SELECT n.id, n.patient, n.side, '', '', '', '', n.number
	FROM case_now n JOIN revision r ON r.kind = 'case' AND r.chain = n.id AND r.number = n.number
	WHERE n.state = 'closed' AND r.payload::json ->> 'closed' = 'operated';
