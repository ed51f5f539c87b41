"""The way between the import page and the workshop; all of it off the window's thread."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from gettext import gettext as _
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from wearlog.exchange.matching import Match
from wearlog.exchange.spreadsheet import Book, Sheet, TextWay
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.progress import Progress
from wearlog.window.background import Background
from wearlog.window.import_sheet.model import Outcome
from wearlog.workshop.bring_in import Brought
from wearlog.workshop.import_matches import KnownForImport

if TYPE_CHECKING:
    from wearlog.workshop.bench import Bench


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be tried or brought in: a sheet by its match; `remembered` is its text, with its mark."""

    book: Book
    sheet: Sheet
    match: Match
    fingerprint: str = ""
    remembered: str = ""


class ImportTraffic(QObject):
    """Reads files, tries a match and brings in.

    Signals
    -------
    opened(Book, KnownForImport)
        A file was read.
    in_format(tuple[Path, ...])
        The files are in the import format and need no matching.
    tried(Outcome, KnownForImport)
        What would come of a match, and what the workshop has by now.
    brought(Brought)
        Rows were brought in.
    refused(WearlogError)
        What stands against it.
    forgotten()
        A remembered match is gone.
    """

    opened = Signal(object, object)
    in_format = Signal(object)
    tried = Signal(object, object)
    brought = Signal(object)
    refused = Signal(object)
    forgotten = Signal()

    def __init__(self, bench: "Bench", background: Background, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._background = background

    def open(self, path: Path, way: TextWay | None = None) -> None:
        """Read a file."""
        bench = self._bench

        def read(progress: Progress) -> tuple[Book, KnownForImport]:
            from wearlog.exchange.sheet_words import guess_match  # noqa: PLC0415 - when first needed
            from wearlog.exchange.spreadsheet import read_book  # noqa: PLC0415
            from wearlog.workshop.import_matches import known_for_import  # noqa: PLC0415

            asked = way or TextWay("", "")
            book = read_book(path, encoding=asked.encoding, separator=asked.separator, progress=progress)
            for sheet in book.sheets:
                # What headers are like is remembered, so that the window need not work it out.
                guess_match(sheet)
            return book, known_for_import(bench)

        def done(found: tuple[Book, KnownForImport]) -> None:
            from wearlog.exchange.format_book import is_in_format  # noqa: PLC0415 - as above

            if len(found[0].sheets) > 1 and is_in_format(found[0]):
                self.in_format.emit((path,))
            else:
                self.opened.emit(*found)

        self._run(read, "import read", done, _("Reading {file}").format(file=path.name))

    def try_match(self, wanted: Wanted) -> None:
        """Find out what would come of a match; nothing is kept."""
        bench = self._bench

        def work(progress: Progress) -> tuple[Outcome, KnownForImport]:
            from wearlog.exchange.matched_rows import missing, understand  # noqa: PLC0415 - when first needed
            from wearlog.workshop.bring_in import try_in  # noqa: PLC0415
            from wearlog.workshop.import_matches import known_for_import  # noqa: PLC0415

            known = known_for_import(bench)
            found = understand(wanted.sheet, wanted.match, known, file=wanted.book.file, progress=progress)
            lacks = missing(wanted.match, known, found)
            if lacks or found.problems:
                return Outcome(found, lacks), known
            try:
                return Outcome(found, (), (), try_in(bench, found.rows, progress)), known
            except WearlogError as error:
                return Outcome(found, (), error.problems), known

        self._run(work, "import try", lambda found: self.tried.emit(*found), _("Looking what it would add"))

    def bring(self, wanted: Wanted) -> None:
        """Bring in a sheet as it was matched, and remember the match."""
        bench = self._bench

        def work(progress: Progress) -> Brought:
            from wearlog.exchange.matched_rows import missing, understand  # noqa: PLC0415 - when first needed
            from wearlog.workshop.bring_in import bring_in  # noqa: PLC0415
            from wearlog.workshop.import_matches import known_for_import, remember_match  # noqa: PLC0415

            known = known_for_import(bench)
            found = understand(wanted.sheet, wanted.match, known, file=wanted.book.file, progress=progress)
            lacks = missing(wanted.match, known, found)
            if lacks:
                raise WearlogError(*lacks)
            found.raise_if_any()
            brought = bring_in(bench, found.rows, progress)
            if wanted.remembered:
                remember_match(bench, wanted.fingerprint, wanted.remembered, wanted.book.file)
            return brought

        self._run(work, "import", self.brought.emit, _("Importing"))

    def bring_format(self, paths: Sequence[Path]) -> None:
        """Bring in files of the import format."""
        bench = self._bench

        def work(progress: Progress) -> Brought:
            from wearlog.exchange.format_book import read_all  # noqa: PLC0415 - when first needed
            from wearlog.workshop.bring_in import bring_in  # noqa: PLC0415
            from wearlog.workshop.import_matches import known_for_import  # noqa: PLC0415

            return bring_in(bench, read_all(paths, known_for_import(bench), progress), progress)

        self._run(work, "import", self.brought.emit, _("Importing"))

    def forget(self, fingerprint: str) -> None:
        """Forget a remembered match."""
        bench = self._bench

        def work(_progress: Progress) -> None:
            from wearlog.workshop.import_matches import forget_match  # noqa: PLC0415 - when first needed

            forget_match(bench, fingerprint)

        self._run(work, "import forget", lambda _nothing: self.forgotten.emit(), "")

    def _run(
        self, work: Callable[[Progress], object], key: str, done: Callable[..., None], what: str
    ) -> None:
        self._background.run(work, key=key, done=done, failed=self.refused.emit, what=what, owner=self)
