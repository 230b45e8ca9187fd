-- The ground. Instants are integer milliseconds UTC; money is integer minor units; rates are hundredths of a percent.
-- Ids are UUID version 7 as 16 bytes. Rows that are evidence or a person's word are append-only by triggers (at the end).

-- ---- the shop ----
CREATE TABLE shop (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    name TEXT NOT NULL CHECK (length(name) > 0),
    address TEXT NOT NULL DEFAULT '',
    telephone TEXT NOT NULL DEFAULT '',
    tax_number TEXT NOT NULL DEFAULT '',
    elevation TEXT NOT NULL CHECK (length(elevation) > 0),
    zone TEXT NOT NULL CHECK (length(zone) > 0),
    currency TEXT NOT NULL CHECK (length(currency) = 3),
    units TEXT NOT NULL CHECK (units IN ('si', 'us')),
    prices_with_tax INTEGER NOT NULL CHECK (prices_with_tax IN (0, 1)),
    tax_rate INTEGER NOT NULL CHECK (tax_rate BETWEEN 0 AND 10000),
    warranty TEXT NOT NULL DEFAULT '',
    next_order INTEGER NOT NULL CHECK (next_order > 0),
    next_invoice INTEGER NOT NULL CHECK (next_invoice > 0),
    next_tag INTEGER NOT NULL DEFAULT 1 CHECK (next_tag > 0),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- A limit that differs from its default; the key is one of the calculation's.
CREATE TABLE limit_setting (
    key TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE barometer (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    at INTEGER NOT NULL CHECK (at > 0),
    typed TEXT NOT NULL,
    reduced INTEGER NOT NULL CHECK (reduced IN (0, 1)),
    site TEXT NOT NULL,
    person BLOB NOT NULL REFERENCES person (id),
    entered_at INTEGER NOT NULL CHECK (entered_at > 0)
) STRICT;
CREATE INDEX barometer_at ON barometer (at);

-- ---- people and what they hold in their hands ----
CREATE TABLE person (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    name TEXT NOT NULL CHECK (length(name) > 0),
    code_hash TEXT NOT NULL,
    certificate TEXT NOT NULL DEFAULT '',
    certificate_until TEXT CHECK (certificate_until IS NULL OR certificate_until GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    salt BLOB NOT NULL CHECK (length(salt) = 16),
    made_at INTEGER NOT NULL CHECK (made_at > 0),
    retired_at INTEGER CHECK (retired_at > 0),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE person_role (
    person BLOB NOT NULL REFERENCES person (id),
    role TEXT NOT NULL CHECK (role IN ('desk', 'technician', 'owner')),
    PRIMARY KEY (person, role)
) STRICT, WITHOUT ROWID;

CREATE TABLE device (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    name TEXT NOT NULL CHECK (length(name) > 0),
    token_hash BLOB NOT NULL UNIQUE CHECK (length(token_hash) = 32),
    admitted_at INTEGER NOT NULL CHECK (admitted_at > 0),
    admitted_by BLOB NOT NULL REFERENCES person (id),
    ended_at INTEGER CHECK (ended_at > 0)
) STRICT;

-- A code that admits one device once.
CREATE TABLE admission (
    code_hash BLOB PRIMARY KEY CHECK (length(code_hash) = 32),
    device_name TEXT NOT NULL CHECK (length(device_name) > 0),
    made_by BLOB NOT NULL REFERENCES person (id),
    made_at INTEGER NOT NULL CHECK (made_at > 0),
    expires_at INTEGER NOT NULL CHECK (expires_at > made_at),
    used_at INTEGER CHECK (used_at > 0)
) STRICT;

CREATE TABLE session (
    token_hash BLOB PRIMARY KEY CHECK (length(token_hash) = 32),
    person BLOB NOT NULL REFERENCES person (id),
    device BLOB NOT NULL REFERENCES device (id),
    began_at INTEGER NOT NULL CHECK (began_at > 0),
    seen_at INTEGER NOT NULL CHECK (seen_at > 0),
    ended_at INTEGER CHECK (ended_at > 0)
) STRICT;
CREATE INDEX session_person ON session (person);

-- What somebody had typed when the session ended; given back after the code.
CREATE TABLE typed_form (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    device BLOB NOT NULL REFERENCES device (id),
    path TEXT NOT NULL,
    fields TEXT NOT NULL CHECK (json_valid(fields)),
    kept_at INTEGER NOT NULL CHECK (kept_at > 0)
) STRICT;

-- ---- instruments, cylinders, yards ----
CREATE TABLE instrument (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    mark TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(mark) > 0),
    kind TEXT NOT NULL CHECK (kind IN ('dial-gauge', 'digital-gauge', 'vacuum-gauge', 'scale', 'thermometer', 'identifier', 'detector', 'other')),
    name TEXT NOT NULL DEFAULT '',
    unit TEXT NOT NULL DEFAULT '',
    resolution TEXT NOT NULL DEFAULT '',
    error TEXT NOT NULL DEFAULT '',
    sensitivity TEXT NOT NULL DEFAULT '',
    compared_on TEXT CHECK (compared_on IS NULL OR compared_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    retired_at INTEGER CHECK (retired_at > 0),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE cylinder (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    mark TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(mark) > 0),
    refrigerant TEXT NOT NULL CHECK (length(refrigerant) > 0),
    purpose TEXT NOT NULL CHECK (purpose IN ('charge', 'recovery', 'contaminated')),
    tare TEXT NOT NULL DEFAULT '',
    water_capacity TEXT NOT NULL DEFAULT '',
    retired_at INTEGER CHECK (retired_at > 0),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE yard (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    name TEXT NOT NULL CHECK (length(name) > 0),
    address TEXT NOT NULL DEFAULT '',
    telephone TEXT NOT NULL DEFAULT '',
    return_days INTEGER CHECK (return_days >= 0),
    retired_at INTEGER CHECK (retired_at > 0),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- ---- customers and cars ----
CREATE TABLE customer (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    name TEXT NOT NULL CHECK (length(name) > 0),
    telephone TEXT NOT NULL DEFAULT '',
    telephone_digits TEXT NOT NULL DEFAULT '',
    email TEXT NOT NULL DEFAULT '',
    address TEXT NOT NULL DEFAULT '',
    salt BLOB NOT NULL CHECK (length(salt) = 16),
    made_at INTEGER NOT NULL CHECK (made_at > 0),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;
CREATE INDEX customer_name ON customer (name COLLATE NOCASE);
CREATE INDEX customer_telephone ON customer (telephone_digits);

CREATE TABLE vehicle (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    customer BLOB NOT NULL REFERENCES customer (id),
    plate TEXT NOT NULL DEFAULT '',
    plate_key TEXT NOT NULL DEFAULT '',
    vin TEXT NOT NULL DEFAULT '' CHECK (vin = upper(vin)),
    description TEXT NOT NULL CHECK (length(description) > 0),
    year INTEGER CHECK (year BETWEEN 1900 AND 2200),
    -- The under-bonnet label as a job record's `system`, brought to the next order.
    label TEXT NOT NULL CHECK (json_valid(label)),
    made_at INTEGER NOT NULL CHECK (made_at > 0),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;
CREATE INDEX vehicle_plate ON vehicle (plate_key);
CREATE INDEX vehicle_vin ON vehicle (vin);
CREATE INDEX vehicle_customer ON vehicle (customer);

-- ---- work orders ----
CREATE TABLE work_order (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    number INTEGER NOT NULL UNIQUE CHECK (number > 0),
    customer BLOB NOT NULL REFERENCES customer (id),
    vehicle BLOB NOT NULL REFERENCES vehicle (id),
    state TEXT NOT NULL CHECK (state IN ('open', 'handed-over', 'cancelled')),
    complaint TEXT NOT NULL CHECK (length(complaint) > 0),
    damage TEXT NOT NULL DEFAULT '',
    odometer INTEGER CHECK (odometer >= 0),
    odometer_unit TEXT NOT NULL DEFAULT 'km' CHECK (odometer_unit IN ('km', 'mi')),
    keys TEXT NOT NULL DEFAULT '',
    promised_at INTEGER CHECK (promised_at > 0),
    technician BLOB REFERENCES person (id),
    opened_at INTEGER NOT NULL CHECK (opened_at > 0),
    opened_by BLOB NOT NULL REFERENCES person (id),
    cancelled_at INTEGER CHECK (cancelled_at > 0),
    cancelled_why TEXT CHECK ((state = 'cancelled') = (cancelled_why IS NOT NULL)),
    version INTEGER NOT NULL DEFAULT 1
) STRICT;
CREATE INDEX work_order_state ON work_order (state, number);
CREATE INDEX work_order_vehicle ON work_order (vehicle);
CREATE INDEX work_order_customer ON work_order (customer);

CREATE TABLE order_note (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    says TEXT NOT NULL CHECK (length(says) > 0),
    person BLOB NOT NULL REFERENCES person (id),
    at INTEGER NOT NULL CHECK (at > 0)
) STRICT;
CREATE INDEX order_note_order ON order_note (work_order);

CREATE TABLE order_line (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    position INTEGER NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('labour', 'part', 'refrigerant', 'sundry', 'diagnosis')),
    says TEXT NOT NULL CHECK (length(says) > 0),
    -- For a part, where it comes from, in the record's words.
    source TEXT CHECK (source IS NULL OR source IN ('new', 'reconditioned', 'salvaged', 'refitted', 'repaired', 'made', 'customers-own')),
    -- Thousandths of the unit.
    quantity INTEGER NOT NULL CHECK (quantity > 0),
    unit TEXT NOT NULL CHECK (unit IN ('', 'h', 'g', '100 g', 'kg', 'oz', 'lb', 'mL', '10 mL', 'L', 'm')),
    price INTEGER NOT NULL CHECK (price >= 0),
    tax_rate INTEGER NOT NULL CHECK (tax_rate BETWEEN 0 AND 10000),
    price_paid INTEGER CHECK (price_paid >= 0),
    ordered_on TEXT,
    expected_on TEXT,
    arrived_on TEXT,
    declined_at INTEGER CHECK (declined_at > 0),
    removed_at INTEGER CHECK (removed_at > 0),
    added_at INTEGER NOT NULL CHECK (added_at > 0),
    version INTEGER NOT NULL DEFAULT 1,
    CHECK (kind = 'part' OR source IS NULL)
) STRICT;
CREATE INDEX order_line_order ON order_line (work_order, position);

CREATE TABLE authorisation (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    -- The whole sum authorised from now on, with tax.
    amount INTEGER NOT NULL CHECK (amount >= 0),
    given_by TEXT NOT NULL CHECK (length(given_by) > 0),
    how TEXT NOT NULL CHECK (how IN ('in-person', 'telephone', 'in-writing')),
    note TEXT NOT NULL DEFAULT '',
    at INTEGER NOT NULL CHECK (at > 0),
    person BLOB NOT NULL REFERENCES person (id),
    entered_at INTEGER NOT NULL CHECK (entered_at > 0)
) STRICT;
CREATE INDEX authorisation_order ON authorisation (work_order);

-- ---- evidence: an identity and its versions; a correction is a new version ----
CREATE TABLE evidence (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    -- Short name within the order: j4, h1, p2. Findings point with it.
    mark TEXT NOT NULL CHECK (length(mark) > 0),
    kind TEXT NOT NULL CHECK (kind IN (
        'site', 'system', 'previous_charge', 'open_since', 'gas_let_in', 'standing', 'identification', 'isolation', 'recovery',
        'leak', 'part', 'desiccant', 'flush', 'joint', 'opening', 'seal', 'fixing', 'oil', 'evacuation', 'hold', 'reading',
        'leak_check', 'charging', 'performance', 'performance_omitted', 'port')),
    parent BLOB REFERENCES evidence (id),
    position INTEGER NOT NULL,
    UNIQUE (work_order, mark),
    UNIQUE (id, kind),
    UNIQUE (work_order, position),
    CHECK ((kind IN ('opening', 'seal', 'reading')) = (parent IS NOT NULL))
) STRICT;
CREATE INDEX evidence_parent ON evidence (parent);

CREATE TABLE evidence_version (
    evidence BLOB NOT NULL,
    kind TEXT NOT NULL,
    seq INTEGER NOT NULL CHECK (seq > 0),
    -- The piece as the job record writes it, quantities as typed; its own time is in here.
    body TEXT NOT NULL CHECK (json_valid(body)),
    at INTEGER CHECK (at > 0),
    approximate INTEGER NOT NULL DEFAULT 0 CHECK (approximate IN (0, 1)),
    withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
    why TEXT NOT NULL DEFAULT '',
    instrument BLOB REFERENCES instrument (id),
    cylinder BLOB REFERENCES cylinder (id),
    yard BLOB REFERENCES yard (id),
    person BLOB NOT NULL REFERENCES person (id),
    device BLOB REFERENCES device (id),
    entered_at INTEGER NOT NULL CHECK (entered_at > 0),
    PRIMARY KEY (evidence, seq),
    FOREIGN KEY (evidence, kind) REFERENCES evidence (id, kind),
    -- A CHECK that comes to NULL passes: hence coalesce.
    CHECK (kind <> 'part' OR coalesce(json_extract(body, '$.source'), '') IN ('new', 'reconditioned', 'salvaged', 'refitted', 'repaired', 'made', 'customers-own')),
    CHECK (kind <> 'joint' OR length(coalesce(json_extract(body, '$.place'), '')) > 0),
    CHECK (kind <> 'seal' OR coalesce(json_extract(body, '$.condition'), '') IN ('sound', 'nicked', 'flattened', 'hardened', 'missing') OR coalesce(json_extract(body, '$.renewed'), 0) = 1),
    CHECK (kind <> 'fixing' OR coalesce(json_extract(body, '$.kind'), '') IN ('standard', 'improvised')),
    CHECK (kind <> 'hold' OR coalesce(json_extract(body, '$.kind'), '') IN ('vacuum', 'pressure')),
    CHECK (kind <> 'reading' OR json_extract(body, '$.pressure') IS NOT NULL),
    CHECK (kind <> 'charging' OR json_extract(body, '$.refrigerant') IS NOT NULL),
    CHECK (kind NOT IN ('recovery', 'reading', 'opening') OR at IS NOT NULL)
) STRICT, WITHOUT ROWID;
CREATE INDEX evidence_version_yard ON evidence_version (yard) WHERE yard IS NOT NULL;
CREATE INDEX evidence_version_cylinder ON evidence_version (cylinder) WHERE cylinder IS NOT NULL;

-- What counts now: the latest version, unless withdrawn.
CREATE VIEW evidence_now AS
SELECT e.id, e.work_order, e.mark, e.kind, e.parent, e.position, v.seq, v.body, v.at, v.approximate, v.why, v.instrument, v.cylinder, v.yard,
    v.person, v.entered_at
FROM evidence e JOIN evidence_version v ON v.evidence = e.id
WHERE v.seq = (SELECT max(w.seq) FROM evidence_version w WHERE w.evidence = e.id) AND v.withdrawn = 0;

-- The printed tag of a part; it leads to car and donor for as long as the shop keeps its file.
CREATE TABLE part_tag (
    number INTEGER PRIMARY KEY CHECK (number > 0),
    evidence BLOB NOT NULL UNIQUE REFERENCES evidence (id)
) STRICT;

-- ---- photographs and papers; the files lie beside the database under their SHA-256 ----
CREATE TABLE attachment (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    evidence BLOB REFERENCES evidence (id),
    authorisation BLOB REFERENCES authorisation (id),
    kind TEXT NOT NULL CHECK (kind IN ('photograph', 'receipt', 'signed-estimate')),
    sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
    media_type TEXT NOT NULL,
    bytes INTEGER NOT NULL CHECK (bytes > 0),
    width INTEGER NOT NULL CHECK (width > 0),
    height INTEGER NOT NULL CHECK (height > 0),
    says TEXT NOT NULL DEFAULT '',
    person BLOB NOT NULL REFERENCES person (id),
    at INTEGER NOT NULL CHECK (at > 0)
) STRICT;
CREATE INDEX attachment_order ON attachment (work_order);

-- ---- what the calculation said, and what people decided ----
CREATE TABLE assessment (
    work_order BLOB PRIMARY KEY REFERENCES work_order (id),
    record TEXT NOT NULL CHECK (json_valid(record)),
    answer TEXT NOT NULL CHECK (json_valid(answer)),
    rules TEXT NOT NULL,
    made_at INTEGER NOT NULL CHECK (made_at > 0)
) STRICT, WITHOUT ROWID;

-- The findings of that assessment, for the lists.
CREATE TABLE finding (
    work_order BLOB NOT NULL REFERENCES work_order (id),
    code TEXT NOT NULL,
    about TEXT NOT NULL,
    position INTEGER NOT NULL,
    weight TEXT NOT NULL CHECK (weight IN ('blocks', 'concession', 'note')),
    says TEXT NOT NULL,
    do_next TEXT NOT NULL,
    -- Evidence and printed values: a concession holds for exactly these.
    binding TEXT NOT NULL CHECK (json_valid(binding)),
    since INTEGER NOT NULL CHECK (since > 0),
    PRIMARY KEY (work_order, code, about)
) STRICT, WITHOUT ROWID;
CREATE INDEX finding_weight ON finding (weight);

CREATE TABLE concession (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    code TEXT NOT NULL,
    about TEXT NOT NULL,
    binding TEXT NOT NULL CHECK (json_valid(binding)),
    says TEXT NOT NULL,
    words TEXT NOT NULL CHECK (length(words) > 0),
    did_the_work INTEGER NOT NULL CHECK (did_the_work IN (0, 1)),
    person BLOB NOT NULL REFERENCES person (id),
    at INTEGER NOT NULL CHECK (at > 0)
) STRICT;
CREATE INDEX concession_order ON concession (work_order);

CREATE TABLE concession_lapse (
    concession BLOB PRIMARY KEY REFERENCES concession (id),
    why TEXT NOT NULL CHECK (length(why) > 0),
    at INTEGER NOT NULL CHECK (at > 0)
) STRICT, WITHOUT ROWID;

CREATE TABLE sent_back (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    code TEXT NOT NULL,
    about TEXT NOT NULL,
    says TEXT NOT NULL,
    reason TEXT NOT NULL CHECK (length(reason) > 0),
    person BLOB NOT NULL REFERENCES person (id),
    at INTEGER NOT NULL CHECK (at > 0)
) STRICT;
CREATE INDEX sent_back_order ON sent_back (work_order);

CREATE TABLE sent_back_answer (
    sent_back BLOB PRIMARY KEY REFERENCES sent_back (id),
    says TEXT NOT NULL CHECK (length(says) > 0),
    person BLOB REFERENCES person (id),
    at INTEGER NOT NULL CHECK (at > 0)
) STRICT, WITHOUT ROWID;

-- ---- handing over, money ----
CREATE TABLE handover (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    seq INTEGER NOT NULL CHECK (seq > 0),
    way TEXT NOT NULL CHECK (way IN ('repaired', 'partly-repaired', 'made-safe', 'diagnosed-only')),
    sentence TEXT NOT NULL CHECK (length(sentence) > 0),
    look_again_on TEXT CHECK (look_again_on IS NULL OR look_again_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    record TEXT NOT NULL CHECK (json_valid(record)),
    answer TEXT NOT NULL CHECK (json_valid(answer)),
    rules TEXT NOT NULL,
    -- Every printed sentence, frozen.
    report TEXT NOT NULL CHECK (json_valid(report)),
    audit_head TEXT NOT NULL,
    person BLOB NOT NULL REFERENCES person (id),
    at INTEGER NOT NULL CHECK (at > 0),
    UNIQUE (work_order, seq)
) STRICT;

CREATE TABLE reopening (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    handover BLOB NOT NULL REFERENCES handover (id),
    reason TEXT NOT NULL CHECK (length(reason) > 0),
    person BLOB NOT NULL REFERENCES person (id),
    at INTEGER NOT NULL CHECK (at > 0)
) STRICT;

CREATE TABLE invoice (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    number INTEGER NOT NULL UNIQUE CHECK (number > 0),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    corrects BLOB REFERENCES invoice (id),
    total INTEGER NOT NULL,
    currency TEXT NOT NULL CHECK (length(currency) = 3),
    document TEXT NOT NULL CHECK (json_valid(document)),
    person BLOB NOT NULL REFERENCES person (id),
    issued_at INTEGER NOT NULL CHECK (issued_at > 0)
) STRICT;
CREATE INDEX invoice_order ON invoice (work_order);

CREATE TABLE payment (
    id BLOB PRIMARY KEY CHECK (length(id) = 16),
    work_order BLOB NOT NULL REFERENCES work_order (id),
    kind TEXT NOT NULL CHECK (kind IN ('deposit', 'payment', 'refund')),
    amount INTEGER NOT NULL CHECK (amount > 0),
    how TEXT NOT NULL CHECK (how IN ('cash', 'card', 'transfer', 'other')),
    note TEXT NOT NULL DEFAULT '',
    at INTEGER NOT NULL CHECK (at > 0),
    person BLOB NOT NULL REFERENCES person (id),
    entered_at INTEGER NOT NULL CHECK (entered_at > 0)
) STRICT;
CREATE INDEX payment_order ON payment (work_order);

-- ---- the audit chain: every deed, each entry bound to the one before ----
CREATE TABLE audit_entry (
    seq INTEGER PRIMARY KEY CHECK (seq > 0),
    -- The client's id of the deed; the same id with the same content is the same deed.
    deed BLOB NOT NULL UNIQUE CHECK (length(deed) = 16),
    kind TEXT NOT NULL CHECK (length(kind) > 0),
    work_order BLOB REFERENCES work_order (id),
    person BLOB REFERENCES person (id),
    device BLOB REFERENCES device (id),
    at INTEGER NOT NULL CHECK (at > 0),
    content TEXT NOT NULL CHECK (json_valid(content)),
    before BLOB NOT NULL CHECK (length(before) = 32),
    hash BLOB NOT NULL CHECK (length(hash) = 32)
) STRICT;
CREATE INDEX audit_entry_order ON audit_entry (work_order);

-- What a deed's form said, only as a salted hash: the same form sent twice is recognised, and an erasure may remove the row.
CREATE TABLE deed_seen (
    deed BLOB PRIMARY KEY REFERENCES audit_entry (deed),
    salt BLOB NOT NULL CHECK (length(salt) = 16),
    hash BLOB NOT NULL CHECK (length(hash) = 32)
) STRICT, WITHOUT ROWID;

-- ---- append-only ----
CREATE TRIGGER barometer_no_update BEFORE UPDATE ON barometer BEGIN SELECT RAISE(ABORT, 'barometer is append-only'); END;
CREATE TRIGGER barometer_no_delete BEFORE DELETE ON barometer BEGIN SELECT RAISE(ABORT, 'barometer is append-only'); END;
CREATE TRIGGER order_note_no_update BEFORE UPDATE ON order_note BEGIN SELECT RAISE(ABORT, 'order_note is append-only'); END;
CREATE TRIGGER order_note_no_delete BEFORE DELETE ON order_note BEGIN SELECT RAISE(ABORT, 'order_note is append-only'); END;
CREATE TRIGGER authorisation_no_update BEFORE UPDATE ON authorisation BEGIN SELECT RAISE(ABORT, 'authorisation is append-only'); END;
CREATE TRIGGER authorisation_no_delete BEFORE DELETE ON authorisation BEGIN SELECT RAISE(ABORT, 'authorisation is append-only'); END;
CREATE TRIGGER evidence_no_update BEFORE UPDATE ON evidence BEGIN SELECT RAISE(ABORT, 'evidence is append-only'); END;
CREATE TRIGGER evidence_no_delete BEFORE DELETE ON evidence BEGIN SELECT RAISE(ABORT, 'evidence is append-only'); END;
CREATE TRIGGER evidence_version_no_update BEFORE UPDATE ON evidence_version BEGIN SELECT RAISE(ABORT, 'evidence_version is append-only'); END;
CREATE TRIGGER evidence_version_no_delete BEFORE DELETE ON evidence_version BEGIN SELECT RAISE(ABORT, 'evidence_version is append-only'); END;
CREATE TRIGGER part_tag_no_update BEFORE UPDATE ON part_tag BEGIN SELECT RAISE(ABORT, 'part_tag is append-only'); END;
CREATE TRIGGER part_tag_no_delete BEFORE DELETE ON part_tag BEGIN SELECT RAISE(ABORT, 'part_tag is append-only'); END;
CREATE TRIGGER attachment_no_update BEFORE UPDATE ON attachment BEGIN SELECT RAISE(ABORT, 'attachment is append-only'); END;
CREATE TRIGGER attachment_no_delete BEFORE DELETE ON attachment BEGIN SELECT RAISE(ABORT, 'attachment is append-only'); END;
CREATE TRIGGER concession_no_update BEFORE UPDATE ON concession BEGIN SELECT RAISE(ABORT, 'concession is append-only'); END;
CREATE TRIGGER concession_no_delete BEFORE DELETE ON concession BEGIN SELECT RAISE(ABORT, 'concession is append-only'); END;
CREATE TRIGGER concession_lapse_no_update BEFORE UPDATE ON concession_lapse BEGIN SELECT RAISE(ABORT, 'concession_lapse is append-only'); END;
CREATE TRIGGER concession_lapse_no_delete BEFORE DELETE ON concession_lapse BEGIN SELECT RAISE(ABORT, 'concession_lapse is append-only'); END;
CREATE TRIGGER sent_back_no_update BEFORE UPDATE ON sent_back BEGIN SELECT RAISE(ABORT, 'sent_back is append-only'); END;
CREATE TRIGGER sent_back_no_delete BEFORE DELETE ON sent_back BEGIN SELECT RAISE(ABORT, 'sent_back is append-only'); END;
CREATE TRIGGER sent_back_answer_no_update BEFORE UPDATE ON sent_back_answer BEGIN SELECT RAISE(ABORT, 'sent_back_answer is append-only'); END;
CREATE TRIGGER sent_back_answer_no_delete BEFORE DELETE ON sent_back_answer BEGIN SELECT RAISE(ABORT, 'sent_back_answer is append-only'); END;
CREATE TRIGGER handover_no_update BEFORE UPDATE ON handover BEGIN SELECT RAISE(ABORT, 'handover is append-only'); END;
CREATE TRIGGER handover_no_delete BEFORE DELETE ON handover BEGIN SELECT RAISE(ABORT, 'handover is append-only'); END;
CREATE TRIGGER reopening_no_update BEFORE UPDATE ON reopening BEGIN SELECT RAISE(ABORT, 'reopening is append-only'); END;
CREATE TRIGGER reopening_no_delete BEFORE DELETE ON reopening BEGIN SELECT RAISE(ABORT, 'reopening is append-only'); END;
CREATE TRIGGER invoice_no_update BEFORE UPDATE ON invoice BEGIN SELECT RAISE(ABORT, 'invoice is append-only'); END;
CREATE TRIGGER invoice_no_delete BEFORE DELETE ON invoice BEGIN SELECT RAISE(ABORT, 'invoice is append-only'); END;
CREATE TRIGGER payment_no_update BEFORE UPDATE ON payment BEGIN SELECT RAISE(ABORT, 'payment is append-only'); END;
CREATE TRIGGER payment_no_delete BEFORE DELETE ON payment BEGIN SELECT RAISE(ABORT, 'payment is append-only'); END;
CREATE TRIGGER audit_entry_no_update BEFORE UPDATE ON audit_entry BEGIN SELECT RAISE(ABORT, 'audit_entry is append-only'); END;
CREATE TRIGGER audit_entry_no_delete BEFORE DELETE ON audit_entry BEGIN SELECT RAISE(ABORT, 'audit_entry is append-only'); END;
