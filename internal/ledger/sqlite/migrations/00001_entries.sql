-- +goose Up

-- Everything that was ever written, in the order in which it arrived. Rows are
-- never changed and never deleted: a mistake is struck out by another entry.
CREATE TABLE entry (
    -- key of the cellar; every query names it
    cellar    TEXT    NOT NULL,
    -- place in the order of arrival in this cellar: 1, 2, 3 … without gaps
    place     INTEGER NOT NULL,
    -- UUIDv7 made on the device that wrote the entry
    id        TEXT    NOT NULL,
    -- SHA-256 of what the entry says, to tell a repeat from a contradiction
    digest    TEXT    NOT NULL,
    kind      TEXT    NOT NULL,
    -- UTC milliseconds; of a day, its first
    happened  INTEGER NOT NULL,
    written   INTEGER NOT NULL,
    -- the whole entry as one line, its body byte for byte as it was written
    line      TEXT    NOT NULL,
    PRIMARY KEY (cellar, place),
    -- the same entry twice is one; the same id with other content keeps both
    UNIQUE (cellar, id, digest)
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER entry_stays BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER entry_remains BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END;
-- +goose StatementEnd
