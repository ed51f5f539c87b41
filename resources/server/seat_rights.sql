-- Run by wearlog_owner in the database wearlog, after it was opened by this role for the first time and
-- after every upgrade, for example: psql -U wearlog_owner -d wearlog -f seat_rights.sql

GRANT USAGE ON SCHEMA public TO wearlog_seat;

GRANT SELECT, INSERT, UPDATE ON ALL TABLES IN SCHEMA public TO wearlog_seat;

GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO wearlog_seat;

-- The trail and what says which saves are done only grow; the form of the tables is the owner's business.
REVOKE UPDATE ON audit, saved_key FROM wearlog_seat;

REVOKE INSERT ON data_version FROM wearlog_seat;

REVOKE INSERT, UPDATE ON schema_version FROM wearlog_seat;

-- Half-filled sheets end, and personal data can be erased; nothing else is ever deleted.
GRANT DELETE ON draft, personal TO wearlog_seat;
