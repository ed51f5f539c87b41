"""A server shared by people: a seat can do the daily work and no more, and secrets are told to nobody."""

import logging
import os
import shutil
import ssl
import subprocess
import sys
import traceback
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import create_engine, make_url, text
from sqlalchemy.exc import ProgrammingError

from tests.makers.bench import TODAY, add_caliper, add_motorcycle
from tests.makers.cut import Way
from tests.store.kept import NOW
from tests.store.test_connection_lost import sheet_of
from wearlog import resources
from wearlog.fleet.audit import AuditEntry
from wearlog.fleet.fitting import Installation
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.reading import Reading
from wearlog.fleet.vehicle import Vehicle
from wearlog.store.database import Database
from wearlog.workshop.bench import Bench, FixedClock, set_caution_level, set_up
from wearlog.workshop.due import due_snapshot
from wearlog.workshop.keeping import verify
from wearlog.workshop.measure import keep_draft, save, void_reading
from wearlog.workshop.undo import undo
from wearlog.workshop.vehicles import erase_contact

SECRET = "zqxj-opensesame"  # noqa: S105 - opens nothing


def statements(name: str) -> list[str]:
    """The statements of a file that is shipped for administrators, without its remarks."""
    lines = resources.resource("server", name).read_text(encoding="utf-8").splitlines()
    whole = "\n".join(line for line in lines if not line.startswith("--"))
    return [one.strip() for one in whole.split(";") if one.strip()]


def execute(address, *wanted: str) -> None:
    engine = create_engine(address, isolation_level="AUTOCOMMIT")
    try:
        with engine.connect() as connection:
            for one in wanted:
                connection.execute(text(one))
    finally:
        engine.dispose()


@pytest.fixture
def roles(server):
    """Addresses of the shipped roles in the database that is made for them."""
    execute(server, *statements("roles.sql"))

    def address_of(name: str) -> str:
        url = make_url(server).set(username=name, database="wearlog")
        return url.render_as_string(hide_password=False)

    yield address_of
    execute(server, "DROP DATABASE wearlog WITH (FORCE)", "DROP ROLE wearlog_seat", "DROP ROLE wearlog_owner")


@pytest.fixture
def seat(roles):
    """A bench with the rights of a seat, in a database that its owner has made."""
    Database.open(roles("wearlog_owner"), now=NOW).close()
    execute(roles("wearlog_owner"), *statements("seat_rights.sql"))
    clock = FixedClock(TODAY)
    made = Bench(Database.open(roles("wearlog_seat"), now=NOW), "Ines", clock)
    set_up(made)
    yield made
    made.database.close()


def test_a_seat_can_do_the_daily_work(seat):
    add_caliper(seat)
    chain = add_motorcycle(seat, readings=[(500, 0.0010), (1500, 0.0022), (2800, 0.0040)])
    draft = sheet_of(seat, 5100.0)
    keep_draft(seat, draft)
    changes = save(seat, draft)
    undo(seat, changes)
    saved = save(seat, replace(draft, save_key="another"))
    assert saved.change_id != changes.change_id
    set_caution_level(seat, 0.10)
    assert due_snapshot(seat).lines
    with seat.database.reading() as records:
        reading = records.all(Reading, live=True, installation_id=chain.id)[-1]
        vehicle = records.get(Vehicle, chain.vehicle_id)
    void_reading(seat, reading.id, "misread")
    with seat.database.writing(by="Ines", at=NOW, what="contact") as records:
        vehicle = records.replace(replace(vehicle, owner_contact="owner@example.org"))
    erase_contact(seat, vehicle)
    assert verify(seat).findings == ()
    with seat.database.reading() as records:
        assert records.count(Installation) == 3
        assert records.count(AuditEntry) > 10


#: None of these is for a seat.
REFUSED = (
    "DROP TABLE reading",
    "ALTER TABLE reading ADD COLUMN x int",
    "TRUNCATE reading CASCADE",
    "CREATE TABLE mine (x int)",
    "DELETE FROM reading",
    "DELETE FROM visit",
    "DELETE FROM audit",
    "UPDATE audit SET by = 'nobody'",
    "TRUNCATE audit",
    "DELETE FROM saved_key",
    "UPDATE saved_key SET change_id = ''",
    "UPDATE schema_version SET version_num = '9999'",
    "DELETE FROM schema_version",
    "DELETE FROM data_version",
    "DELETE FROM setting",
    "CREATE ROLE another",
    "ALTER ROLE wearlog_seat SUPERUSER",
    "DROP DATABASE wearlog",
)


def test_a_seat_cannot_change_what_the_tables_are_or_what_was_done(seat, roles):
    """SQLSTATE 42501, insufficient_privilege: PostgreSQL manual, "PostgreSQL Error Codes"."""
    add_motorcycle(seat)
    for wanted in REFUSED:
        with pytest.raises(ProgrammingError) as refused:
            execute(roles("wearlog_seat"), wanted)
        assert refused.value.orig.sqlstate == "42501", wanted
    assert verify(seat).findings == ()


def test_a_seat_cannot_make_the_tables_and_says_who_can(roles):
    with pytest.raises(WearlogError) as refused:
        Database.open(roles("wearlog_seat"), now=NOW)
    assert "does not allow" in refused.value.problems[0].what
    assert "looks after the server" in refused.value.problems[0].todo


def test_a_wrong_password_is_in_no_error_and_in_no_log(server, caplog):
    caplog.set_level(logging.DEBUG)
    address = make_url(server).set(username="locked", password=SECRET)
    with pytest.raises(WearlogError) as refused:
        Database.open(address.render_as_string(hide_password=False), now=NOW)
    assert "name and password" in refused.value.problems[0].what
    told = "".join(traceback.format_exception(refused.value)) + repr(refused.value) + caplog.text
    assert SECRET not in told


def test_the_program_writes_a_password_nowhere(server, tmp_path):
    """As a process of its own: nothing that it prints, and no file that it leaves."""
    address = make_url(server).set(username="locked", password=SECRET).render_as_string(hide_password=False)
    folders = {f"XDG_{name}_HOME": str(tmp_path / name) for name in ("CONFIG", "DATA", "CACHE", "STATE")}
    ended = subprocess.run(  # noqa: S603 - this very program
        [sys.executable, "-m", "wearlog", "--database", address, "due"],
        env={**os.environ, **folders, "HOME": str(tmp_path), "QT_QPA_PLATFORM": "offscreen"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 5
    left = "".join(file.read_text(errors="replace") for file in tmp_path.rglob("*") if file.is_file())
    assert "name and password" in ended.stderr
    assert SECRET not in ended.stdout + ended.stderr + left


# -- an encrypted way ----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def certificate(tmp_path_factory) -> Path:
    """A certificate for this machine that vouches for itself, and its key beside it."""
    openssl = shutil.which("openssl")
    assert openssl, "the tests of encrypted connections need the program openssl"
    folder = tmp_path_factory.mktemp("certificate")
    command = (
        "req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=127.0.0.1 -addext subjectAltName=IP:127.0.0.1"
    )
    files = ["-keyout", str(folder / "key.pem"), "-out", str(folder / "server.pem")]
    arguments = [openssl, *command.split(), *files]
    subprocess.run(arguments, check=True, capture_output=True)  # noqa: S603 - ours
    return folder / "server.pem"


@pytest.fixture
def encrypted(postgresql, certificate):
    """A way to the server that speaks TLS on the seat's side."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, certificate.with_name("key.pem"))
    with Way(postgresql, context) as made:
        yield made


def address_over(way: Way, postgresql: str, **settings: str) -> str:
    query = {name: value for name, value in make_url(postgresql).query.items() if name != "host"}
    url = make_url(postgresql).set(host="127.0.0.1", port=way.port, query={**query, **settings})
    return url.render_as_string(hide_password=False)


def test_a_seat_that_knows_the_certificate_gets_through(encrypted, postgresql, certificate):
    """sslmode verify-full: PostgreSQL manual, "SSL Support", "Protection Provided in Different Modes"."""
    address = address_over(encrypted, postgresql, sslmode="verify-full", sslrootcert=str(certificate))
    database = Database.open(address, now=NOW)
    with database.writing(by="Ines", at=NOW, what="setting") as records:
        records.set_setting("caution level", "0.05")
    with database.reading() as records:
        assert records.setting("caution level") == "0.05"
    database.close()
    assert encrypted.ciphers


def test_a_seat_that_does_not_know_the_certificate_is_not_let_through(encrypted, postgresql, tmp_path):
    other = tmp_path / "other.pem"
    other.write_text(ssl.DER_cert_to_PEM_cert(b""), encoding="ascii")
    for settings in ({"sslmode": "verify-full"}, {"sslmode": "verify-ca", "sslrootcert": str(other)}):
        with pytest.raises(WearlogError) as refused:
            Database.open(address_over(encrypted, postgresql, **settings), now=NOW)
        assert refused.value.problems[0].todo


def test_a_seat_that_wants_encryption_does_not_go_without(postgresql):
    with Way(postgresql) as plain, pytest.raises(WearlogError):
        Database.open(address_over(plain, postgresql, sslmode="require"), now=NOW)
