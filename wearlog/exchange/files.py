"""Writing a file whole or not at all."""

import os
import re
import tempfile
from collections.abc import Callable
from contextlib import suppress
from gettext import gettext as _
from pathlib import Path
from typing import BinaryIO

from wearlog.fleet.problem import Problem, ProblemKind, WearlogError

#: Spreadsheet programs take text that starts like this for a formula.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
#: Names that Windows keeps for devices, whatever their ending ("Naming Files, Paths, and Namespaces").
_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(?=\.|$)", re.IGNORECASE)
_LONGEST_NAME = 100


def write_whole(target: Path | BinaryIO, write: Callable[[BinaryIO], None]) -> None:
    """Write a file beside its place and move it there when it is complete; a stream is written to at once.

    Parameters
    ----------
    target : Path or BinaryIO
        Where to. An existing file is replaced in one step.
    write : callable
        Writes the content to the stream it is given.

    Raises
    ------
    WearlogError
        If the file can't be written; the old file, if any, is then still there.
    """
    if not isinstance(target, Path):
        write(target)
        return
    try:
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".part")
    except OSError as error:
        raise WearlogError(_problem(target, error)) from error
    fresh = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            write(stream)
        _share(fresh, target)
        fresh.replace(target)
    except OSError as error:
        with suppress(OSError):
            fresh.unlink(missing_ok=True)
        raise WearlogError(_problem(target, error)) from error
    except BaseException:
        with suppress(OSError):
            fresh.unlink(missing_ok=True)
        raise


def write_text(text: str, target: Path) -> None:
    """Write a text as UTF-8, whole or not at all."""

    def write(stream: BinaryIO) -> None:
        stream.write(text.encode())

    write_whole(target, write)


def _share(fresh: Path, target: Path) -> None:
    """Give the new file the permissions that the old one had, or those of any new file."""
    try:
        mode = target.stat().st_mode & 0o777
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        mode = 0o666 & ~mask
    fresh.chmod(mode)


def _problem(target: Path, error: OSError) -> Problem:
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        what, todo = _("The folder does not exist."), _("Make it first, or choose another one.")
    elif isinstance(error, IsADirectoryError):
        what, todo = _("This is a folder."), _("Give the name of a file.")
    elif isinstance(error, PermissionError):
        what, todo = (
            _("The file may not be written by you, or is open elsewhere."),
            _("Choose another place."),
        )
    else:
        what = _("The file can't be written ({reason}).").format(reason=error.strerror or str(error))
        todo = _("Check the room on the disk, or choose another place.")
    return Problem(what, str(target), todo, kind=ProblemKind.FILE)


def harmless(text: str) -> str:
    """Return text for a CSV cell that no spreadsheet program takes for a formula.

    Examples
    --------
    >>> harmless("=1+1"), harmless("LR-017")
    ("'=1+1", 'LR-017')
    """
    return f"'{text}" if text.lstrip(" ").startswith(_FORMULA_STARTS) else text


def name_for_file(text: str) -> str:
    """Return a word of the workshop's own, such as a tag, as (part of) the name of a file.

    Nothing in it leads to another folder, and every system of files takes it.

    Examples
    --------
    >>> name_for_file("LR-017"), name_for_file("../LR/17: *new*"), name_for_file("aux")
    ('LR-017', 'LR-17- -new', 'aux-')
    """
    plain = re.sub(r'[\x00-\x1f\x7f<>:"/\\|?*]+', "-", text)
    plain = re.sub(r"(?:\.\.+-?)+", "", plain).strip(" .-")[:_LONGEST_NAME].rstrip(" .-")
    return _DEVICES.sub(r"\1-", plain, count=1) if _DEVICES.match(plain) else plain or "wearlog"
