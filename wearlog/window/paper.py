"""Job cards, owner's reports and warranty records from the pages, made in the background."""

from collections.abc import Callable
from gettext import gettext as _
from pathlib import Path
from typing import TypeAlias

from PySide6.QtWidgets import QFileDialog

from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.progress import Progress
from wearlog.window.page import Page

#: Words of a menu entry and what it does.
Entries: TypeAlias = tuple[tuple[str, Callable[[], None]], ...]
#: Makes a paper and writes it to a file, off the window's thread.
_Make: TypeAlias = Callable[[Path, Progress], None]


def owner_paper_entries(page: Page, chosen_part: Callable[[], int | None]) -> Entries:
    """Return the entries of a page about one vehicle: its report, and the record of the part that is shown.

    Parameters
    ----------
    page : Page
        Whose entries they are.
    chosen_part : callable
        Returns the installation that is shown, None for none.
    """
    return (
        (_("Owner’s &report, PDF …"), lambda: ask_owner_report(page)),
        (_("&Warranty record of this part, PDF or JSON …"), lambda: ask_warranty_record(page, chosen_part())),
    )


def ask_owner_report(page: Page) -> None:
    """Ask where to, and write the owner's report on the chosen vehicle."""
    vehicle_id = _chosen_vehicle(page)
    if vehicle_id is None:
        return
    file = _asked(page, _("Owner’s report"), _("report.pdf"), _("PDF (*.pdf)"))
    if file is not None:
        write_owner_report_of(page, vehicle_id, file.with_suffix(".pdf"))


def ask_warranty_record(page: Page, installation_id: int | None) -> None:
    """Ask where to, and write the evidence on one part."""
    if installation_id is None:
        problem = Problem(_("No part is shown."), todo=_("Choose a part first."))
        page.show_problems(WearlogError(problem))
        return
    kinds = ";;".join((_("PDF (*.pdf)"), _("Data to check (*.json)")))
    file = _asked(page, _("Warranty record"), _("warranty record.pdf"), kinds)
    if file is not None:
        write_warranty_of(page, installation_id, file)


def ask_job_card(page: Page) -> None:
    """Ask where to, and write the job card of the chosen vehicle: of its next planned visit if it has one."""
    vehicle_id = _chosen_vehicle(page)
    if vehicle_id is None:
        return
    file = _asked(page, _("Job card"), _("job card.pdf"), _("PDF (*.pdf)"))
    if file is not None:
        write_job_card_of(page, vehicle_id, file.with_suffix(".pdf"))


def write_owner_report_of(page: Page, vehicle_id: int, file: Path) -> None:
    """Write the owner's report on a vehicle, in the background."""
    bench, shown = page.session.bench, page.session.shown_units

    def make(target: Path, progress: Progress) -> None:
        from wearlog.exchange.owner_report import write_owner_report  # noqa: PLC0415 - loaded when first needed
        from wearlog.workshop.owner_report import owner_report  # noqa: PLC0415

        write_owner_report(owner_report(bench, vehicle_id, progress), target, shown)

    _write(page, file, make)


def write_warranty_of(page: Page, installation_id: int, file: Path) -> None:
    """Write the evidence on one part, in the background; the ending of the file says as what."""
    bench, shown = page.session.bench, page.session.shown_units

    def make(target: Path, _progress: Progress) -> None:
        from wearlog.exchange.warranty_record import write_warranty_record  # noqa: PLC0415 - when first needed
        from wearlog.workshop.warranty import warranty_record  # noqa: PLC0415

        write_warranty_record(warranty_record(bench, installation_id), target, shown)

    _write(page, file, make)


def write_job_card_of(page: Page, vehicle_id: int, file: Path) -> None:
    """Write the job card of a vehicle's next planned visit, or its unplanned one, in the background."""
    bench, shown = page.session.bench, page.session.shown_units

    def make(target: Path, _progress: Progress) -> None:
        from wearlog.exchange.job_card import write_job_card  # noqa: PLC0415 - loaded when first needed
        from wearlog.workshop.job_card import next_card  # noqa: PLC0415

        write_job_card(next_card(bench, vehicle_id), target, shown)

    _write(page, file, make)


def _chosen_vehicle(page: Page) -> int | None:
    """Return the chosen vehicle; without one say so."""
    if page.session.vehicle_id is None:
        problem = Problem(_("No vehicle is chosen."), todo=_("Choose one in the list on the left."))
        page.show_problems(WearlogError(problem))
    return page.session.vehicle_id


def _asked(page: Page, title: str, name: str, kinds: str) -> Path | None:
    chosen, _kind = QFileDialog.getSaveFileName(page, title, name, kinds)
    return Path(chosen) if chosen else None


def _write(page: Page, file: Path, make: _Make) -> None:
    def write(progress: Progress) -> Path:
        make(file, progress)
        return file

    page.session.background.run(
        write,
        key=f"write {file}",
        done=lambda written: page.session.messages.said(_("Written to {file}").format(file=written)),
        failed=page.show_problems,
        what=_("Writing {file}").format(file=file.name),
        owner=page,
    )
