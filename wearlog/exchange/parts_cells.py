"""The parts list as the cells of a table, the same in every file."""

from datetime import date
from gettext import gettext as _

from wearlog.drawing.parts_words import level_text, why_text
from wearlog.workshop.parts_snapshot import PartsLine, PartsSnapshot

Cell = str | int | float | date | None


def parts_headers(snapshot: PartsSnapshot) -> list[str]:
    """Return the headers of the parts list as a table."""
    return [
        _("part"),
        _("kind"),
        _("depot"),
        _("fitted"),
        _("on the shelf"),
        _("on order"),
        _("next arrival"),
        _("lead time [d]"),
        _("price"),
        _("expected demand in {n} weeks").format(n=snapshot.weeks),
        _("few (1 in 10 below)"),
        _("many (1 in 10 above)"),
        _("enough with {level}").format(level=level_text(snapshot.level)),
        _("chance of having enough [%]"),
        _("order now"),
        _("short"),
        _("order by"),
        _("order cost"),
        _("set with"),
        _("why"),
    ]


def parts_cells(snapshot: PartsSnapshot, line: PartsLine) -> list[Cell]:
    """Return one line of the parts list as the cells of a table."""
    last = line.weeks[-1] if line.weeks else None
    return [
        line.name,
        line.kind.value,
        line.depot,
        line.running,
        line.on_hand if line.line_id else None,
        line.on_order,
        line.next_arrival,
        line.lead_days,
        line.price,
        round(line.mean, 2),
        last.few if last else None,
        last.many if last else None,
        line.wanted,
        round(100.0 * line.chance_enough, 1),
        line.order_now,
        line.short,
        line.order_by,
        None if line.order_cost is None else round(line.order_cost, 2),
        "; ".join(line.set_with),
        why_text(snapshot, line),
    ]
