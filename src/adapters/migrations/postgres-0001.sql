-- Records as their files had them, by the SHA-256 of their payload.
CREATE TABLE record (
    digest text PRIMARY KEY,
    bytes bytea NOT NULL
);

-- Late findings, each with the record it belongs to.
CREATE TABLE addendum (
    digest text PRIMARY KEY,
    record text NOT NULL REFERENCES record (digest),
    bytes bytea NOT NULL
);
CREATE INDEX addendum_of_record ON addendum (record);

-- Derived from the two above and nothing else.
CREATE TABLE case_row (
    digest text PRIMARY KEY REFERENCES record (digest),
    kind text NOT NULL,
    outcome text NOT NULL,
    pathway text NOT NULL,
    opened_ms bigint,
    shots bigint NOT NULL,
    bytes bytea NOT NULL
);
