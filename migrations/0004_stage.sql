-- What the technician says of the work: that it is ready, or that it goes on again. The latest counts; without any, work goes on.
CREATE TABLE work_stage (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    stage TEXT NOT NULL CHECK (stage IN ('in-work', 'ready')),
    -- Why it goes on again, where the program says so: reopened, new work entered.
    why TEXT NOT NULL DEFAULT '',
    person BLOB NOT NULL REFERENCES person (id),
    at INTEGER NOT NULL CHECK (at > 0)
) STRICT;
CREATE INDEX work_stage_order ON work_stage (work_order);
CREATE TRIGGER work_stage_no_update BEFORE UPDATE ON work_stage BEGIN SELECT RAISE(ABORT, 'work_stage is append-only'); END;
CREATE TRIGGER work_stage_no_delete BEFORE DELETE ON work_stage BEGIN SELECT RAISE(ABORT, 'work_stage is append-only'); END;

-- 0: simply not done yet. It counts at the gate, is shown as to do, and is not put to the owner.
ALTER TABLE finding ADD COLUMN due INTEGER NOT NULL DEFAULT 1 CHECK (due IN (0, 1));
