"""What lies on the shelves, brought in with an import."""

from collections.abc import Sequence
from gettext import gettext as _

from wearlog.fleet.stock import StockLine, StockMove, StockMoveKind
from wearlog.workshop.bring_in_context import Import
from wearlog.workshop.import_rows import StockRow, Where


def bring_stock(work: Import, rows: Sequence[StockRow]) -> None:
    """Add the shelves, each with the count that it was set up with; a shelf that is kept is left alone."""
    if not rows:
        return
    kept = {(line.part_type_id, line.depot) for line in work.records.all(StockLine)}
    new: dict[tuple[int, str], tuple[StockLine, Where]] = {}
    for row in rows:
        part_type = work.part_type(row.part_type, row.where)
        if part_type is None:
            continue
        key = (part_type.id, row.depot)
        if key in kept:
            work.findings.add(
                _("{depot} has a shelf for {part} already.").format(depot=row.depot, part=row.part_type),
                str(row.where),
                _("Count the shelf in wearlog, or take the row out."),
            )
        elif key in new:
            work.findings.add(
                _("The part stands there twice (first in {where}).").format(where=new[key][1]),
                str(row.where),
                _("Give each part one row for each depot."),
            )
        else:
            line = StockLine(
                part_type_id=part_type.id,
                depot=row.depot,
                on_hand=row.on_hand,
                lead_days=row.lead_days,
                price=row.price,
                least=row.least,
                spare_links=row.spare_links,
                joining_links=row.joining_links,
                note=row.note,
            )
            new[key] = (line, row.where)
    lines = work.records.add_all([line for line, _where in new.values()])
    work.records.add_all(
        [
            StockMove(
                part_type_id=line.part_type_id,
                depot=line.depot,
                on=work.today,
                count=line.on_hand,
                kind=StockMoveKind.COUNTED,
            )
            for line in lines
            if line.on_hand
        ]
    )
    work.count("stock", added=len(lines))
