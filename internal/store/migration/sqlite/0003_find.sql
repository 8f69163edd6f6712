-- Finding in a large record: the eyes that are not closed, and the records
-- that turned out to be the same person.

CREATE INDEX case_now_open ON case_now (list_date, list_order, id) WHERE state <> 'closed';
CREATE INDEX patient_now_merged ON patient_now (merged_into) WHERE merged_into <> '';
