-- Records as their files had them, by the SHA-256 of their payload.
CREATE TABLE record (
    digest TEXT NOT NULL PRIMARY KEY,
    bytes BLOB NOT NULL
) STRICT;

-- Late findings, each with the record it belongs to.
CREATE TABLE addendum (
    digest TEXT NOT NULL PRIMARY KEY,
    record TEXT NOT NULL REFERENCES record (digest),
    bytes BLOB NOT NULL
) STRICT;
CREATE INDEX addendum_of_record ON addendum (record);

-- Derived from the two above and nothing else.
CREATE TABLE case_row (
    digest TEXT NOT NULL PRIMARY KEY REFERENCES record (digest),
    kind TEXT NOT NULL,
    outcome TEXT NOT NULL,
    pathway TEXT NOT NULL,
    opened_ms INTEGER,
    shots INTEGER NOT NULL,
    bytes BLOB NOT NULL
) STRICT;
