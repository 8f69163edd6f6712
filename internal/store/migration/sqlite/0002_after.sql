-- After the operation: sealed files beside the record, and the operated eyes.

CREATE TABLE attachment (
	address TEXT PRIMARY KEY CHECK (length(address) = 64),
	patient TEXT NOT NULL,
	box     BLOB NOT NULL
) STRICT;

CREATE TRIGGER attachment_update BEFORE UPDATE ON attachment BEGIN SELECT RAISE(ABORT, 'attachments are written once'); END;
CREATE TRIGGER attachment_delete BEFORE DELETE ON attachment BEGIN SELECT RAISE(ABORT, 'attachments are written once'); END;
CREATE TRIGGER attachment_replace BEFORE INSERT ON attachment
	WHEN EXISTS (SELECT 1 FROM attachment a WHERE a.address = NEW.address)
	BEGIN SELECT RAISE(ABORT, 'attachments are written once'); END;

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
CREATE INDEX operated_now_on ON operated_now (operated_on);
CREATE INDEX operated_now_due ON operated_now (due_from);

-- Cases that were closed as operated before there was a record of operations.
INSERT INTO operated_now (id, patient, side, operated_on, bed, due_from, due_until, number)
	SELECT n.id, n.patient, n.side, '', '', '', '', n.number
	FROM case_now n JOIN revision r ON r.kind = 'case' AND r.chain = n.id AND r.number = n.number
	WHERE n.state = 'closed' AND json_extract(r.payload, '$.closed') = 'operated';
