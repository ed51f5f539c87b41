"""Work done from a list: its service sheet filled in and opened, to be checked, completed and saved."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QObject

from wearlog.fleet.problem import WearlogError
from wearlog.fleet.progress import Progress
from wearlog.window.session import Session
from wearlog.workshop.changes import Changes
from wearlog.workshop.due_snapshot import DueLine


def open_filled_sheet(
    session: Session, lines: Sequence[DueLine], failed: Callable[[WearlogError], None], owner: QObject
) -> None:
    """Open the service sheet of a vehicle with the work of some lines ticked.

    Parameters
    ----------
    session
        What the pages share.
    lines
        Lines of the due list, all of one vehicle.
    failed
        Is told a problem.
    owner
        The page that asks.
    """
    bench, vehicle_id = session.bench, lines[0].vehicle_id

    def work(_progress: Progress) -> Changes:
        from wearlog.workshop.booking import fill_sheet  # noqa: PLC0415 - the store is loaded when first needed

        return fill_sheet(bench, lines)

    def show(changes: Changes) -> None:
        session.choose(vehicle_id)
        session.changed.emit(changes)
        session.want_page("sheet")

    session.background.run(work, key="fill sheet", done=show, failed=failed, owner=owner, is_urgent=True)
