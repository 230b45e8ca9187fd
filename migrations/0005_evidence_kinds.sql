-- no-transaction
-- Kinds of evidence are rows, so that the next one is an INSERT: its word, and whether it belongs to another piece. The table `evidence` is made anew without
-- its list of words. That cannot be done while foreign keys are held (other tables lead to it), nor can they be let go within a transaction: hence the first
-- line. All of it is one transaction all the same, and can be run again where the program ended between its end and the note that it was done.
PRAGMA foreign_keys = OFF;
BEGIN IMMEDIATE;

CREATE TABLE IF NOT EXISTS evidence_kind (
    word TEXT PRIMARY KEY CHECK (length(word) > 0),
    -- 1: belongs to a joint, a hold or an evacuation.
    child INTEGER NOT NULL CHECK (child IN (0, 1)),
    UNIQUE (word, child)
) STRICT, WITHOUT ROWID;
INSERT OR IGNORE INTO evidence_kind (word, child) VALUES
    ('site', 0), ('system', 0), ('previous_charge', 0), ('open_since', 0), ('gas_let_in', 0), ('standing', 0), ('identification', 0), ('isolation', 0),
    ('recovery', 0), ('leak', 0), ('part', 0), ('desiccant', 0), ('flush', 0), ('joint', 0), ('opening', 1), ('seal', 1), ('fixing', 0), ('oil', 0),
    ('evacuation', 0), ('hold', 0), ('reading', 1), ('leak_check', 0), ('charging', 0), ('performance', 0), ('performance_omitted', 0), ('port', 0);

DROP VIEW evidence_now;
CREATE TABLE evidence_new (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    -- Short name within the order: j4, h1, p2. Findings point with it.
    mark TEXT NOT NULL CHECK (length(mark) > 0),
    kind TEXT NOT NULL,
    parent BLOB REFERENCES evidence (id),
    position INTEGER NOT NULL,
    child INTEGER NOT NULL GENERATED ALWAYS AS (parent IS NOT NULL) VIRTUAL,
    UNIQUE (work_order, mark),
    UNIQUE (id, kind),
    UNIQUE (work_order, position),
    FOREIGN KEY (kind, child) REFERENCES evidence_kind (word, child)
) STRICT;
INSERT INTO evidence_new (rowid, id, work_order, mark, kind, parent, position)
SELECT rowid, id, work_order, mark, kind, parent, position FROM evidence ORDER BY rowid;
-- Its triggers and its index go with it. Dropping a table deletes no row that a trigger would hold back.
DROP TABLE evidence;
ALTER TABLE evidence_new RENAME TO evidence;
CREATE INDEX evidence_parent ON evidence (parent);
CREATE TRIGGER evidence_no_update BEFORE UPDATE ON evidence BEGIN SELECT RAISE(ABORT, 'evidence is append-only'); END;
CREATE TRIGGER evidence_no_delete BEFORE DELETE ON evidence BEGIN SELECT RAISE(ABORT, 'evidence is append-only'); END;

-- What counts now: the latest version, unless withdrawn.
CREATE VIEW evidence_now AS
SELECT e.id, e.work_order, e.mark, e.kind, e.parent, e.position, v.seq, v.body, v.at, v.approximate, v.why, v.instrument, v.cylinder, v.yard,
    v.person, v.entered_at
FROM evidence e JOIN evidence_version v ON v.evidence = e.id
WHERE v.seq = (SELECT max(w.seq) FROM evidence_version w WHERE w.evidence = e.id) AND v.withdrawn = 0;

-- Nothing may lead to a piece that is not there, or be of a kind that is none. A file in which something does is left as it was.
CREATE TEMP TABLE evidence_astray (number INTEGER CHECK (number = 0));
INSERT INTO evidence_astray
SELECT count(*) FROM pragma_foreign_key_check WHERE "table" IN ('evidence', 'evidence_version') OR parent IN ('evidence', 'evidence_kind');
DROP TABLE evidence_astray;
COMMIT;
PRAGMA foreign_keys = ON;
