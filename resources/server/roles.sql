-- Run once by an administrator of the server, for example: psql -f roles.sql
-- Then give both a password: \password wearlog_owner and \password wearlog_seat

-- Makes the tables and brings them up to date: opens the database first, and first after an upgrade.
CREATE ROLE wearlog_owner LOGIN;

-- What all seats use every day.
CREATE ROLE wearlog_seat LOGIN;

CREATE DATABASE wearlog OWNER wearlog_owner;

REVOKE ALL ON DATABASE wearlog FROM PUBLIC;

GRANT CONNECT ON DATABASE wearlog TO wearlog_seat;
