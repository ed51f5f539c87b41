"""What a database is opened from: the path of a file, or the address of a server; passwords are not shown."""

import os
from gettext import gettext as _
from pathlib import Path
from typing import Any

from sqlalchemy import URL, make_url
from sqlalchemy.exc import ArgumentError

from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.store import errors


def url_of(address: str | Path) -> URL:
    """Return the address of a database in parts.

    Raises
    ------
    WearlogError
        If it cannot be read; it is not repeated, since it may hold a password.
    """
    if not _can_be_written(str(address)):
        raise errors.unknown_address()
    if isinstance(address, Path) or "://" not in address:
        return URL.create("sqlite", database=str(address))
    try:
        url = make_url(address)
    except (ArgumentError, ValueError):
        raise errors.unknown_address() from None
    if url.drivername == "postgresql":
        url = url.set(drivername="postgresql+psycopg")
    if url.drivername not in {"sqlite", "sqlite+pysqlite", "postgresql+psycopg"}:
        raise errors.unknown_address()
    if url.get_backend_name() == "sqlite":
        if url.query:
            raise errors.unknown_address(_("Give the plain path of the file, without ? and what follows it."))
        return url
    if "@" in f"{url.host}{url.database}":
        # The end of a password would pass for the server's name and be shown.
        todo = _(
            "Write special characters in the password as a percent sign and their code: @ is %40, / is %2F."
        )
        raise errors.unknown_address(todo)
    return url


def _can_be_written(address: str) -> bool:
    """Whether an address is more than blanks, and all of it can be handed to the system."""
    try:
        return b"\0" not in os.fsencode(address) and (not address or bool(address.strip()))
    except UnicodeEncodeError:
        return False


def shown(url: URL) -> str:
    """Return an address without any password."""
    if url.get_backend_name() == "sqlite":
        return url.database or ":memory:"
    query = url.difference_update_query(secrets_of(url)).query
    return URL.create(
        url.drivername, url.username, None, url.host, url.port, url.database, query
    ).render_as_string()


def secrets_of(url: URL) -> dict[str, Any]:
    """Return what the address gives away behind its question mark."""
    words = ("pass", "pwd", "secret", "token")
    return {name: value for name, value in url.query.items() if any(word in name.lower() for word in words)}


def file_in(url: URL) -> Path | None:
    """Return the file of an address; None for a server and for memory."""
    if url.get_backend_name() != "sqlite" or url.database in {None, "", ":memory:"}:
        return None
    return Path(str(url.database))


def file_of(address: str | Path) -> Path:
    """Return the file of an address.

    Raises
    ------
    WearlogError
        If it is that of a server or of a database in memory, or cannot be read.
    """
    url = url_of(address)
    path = file_in(url)
    if path is None:
        what = _("Only a database file can be put back from here.")
        todo = _("A database on a server is put back there, for example with pg_restore.")
        raise WearlogError(Problem(what, shown(url), todo, kind=ProblemKind.DATABASE))
    return path
