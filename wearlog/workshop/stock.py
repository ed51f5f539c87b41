"""Work at the shelf: order, receive, count, use, agree on prices and lead times; each is undone as one."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from gettext import gettext as _
from gettext import ngettext

from wearlog.fleet.parts import PartType
from wearlog.fleet.problem import Findings, Problem, ProblemKind, WearlogError
from wearlog.fleet.stock import PartOrder, StockLine, StockMove, StockMoveKind
from wearlog.store.records import Records
from wearlog.workshop.bench import Bench
from wearlog.workshop.changes import Changes
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.parts_snapshot import MOST_PIECES, ShelfTerms, Wanted


def place_orders(bench: Bench, wanted: Sequence[Wanted]) -> Changes:
    """Note that pieces were ordered, each expected after its lead time; in one transaction.

    Raises
    ------
    WearlogError
        If there is nothing to order, a number is out of range or a part type is not known.
    """
    findings = Findings()
    if not wanted:
        findings.add(_("There is nothing to order."), todo=_("Say of which parts how many."))
    for one in wanted:
        _check_count(findings, one.count, least=1)
    findings.raise_if_any()
    today = bench.today()
    pieces = sum(one.count for one in wanted)
    what = ngettext("{n} part ordered", "{n} parts ordered", pieces).format(n=pieces)
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        for one in wanted:
            part_type = records.get(PartType, one.part_type_id)
            line = _line_of(records, one.part_type_id, one.depot)
            records.add(
                PartOrder(
                    part_type_id=one.part_type_id,
                    depot=one.depot,
                    ordered_on=today,
                    count=one.count,
                    expected_on=today + timedelta(days=_lead_days(line, part_type)),
                    price=part_type.price if line.price is None else line.price,
                )
            )
        change_id = records.change_id
    return _changed(what, change_id)


def receive(bench: Bench, part_type_id: int, depot: str, count: int, on: date | None = None) -> Changes:
    """Put pieces that came on the shelf; the oldest open orders count as served by them.

    Raises
    ------
    WearlogError
        If the number is out of range or the day lies ahead.
    """
    findings = Findings()
    _check_count(findings, count, least=1)
    day = _day(bench, on, findings)
    findings.raise_if_any()
    with _job(bench, _("{n} received: {name}"), part_type_id, count) as (records, what):
        line = _line_of(records, part_type_id, depot)
        _keep(records, replace(line, on_hand=line.on_hand + count))
        left = count
        orders = records.all(PartOrder, live=True, part_type_id=part_type_id, depot=depot, closed_on=None)
        for order in sorted(orders, key=lambda one: (one.ordered_on, one.id)):
            part = min(left, order.open_count)
            if part:
                received = order.received_count + part
                is_over = received >= order.count
                records.replace(
                    replace(order, received_count=received, closed_on=day if is_over else order.closed_on)
                )
                _move(records, line, day, part, StockMoveKind.RECEIVED, bench.by, order_id=order.id)
                left -= part
        if left:
            _move(records, line, day, left, StockMoveKind.RECEIVED, bench.by)
        return _changed(what, records.change_id)


def count_shelf(
    bench: Bench, part_type_id: int, depot: str, on_hand: int, joining_links: int | None = None
) -> Changes:
    """Keep what a count of the shelf found; the difference is kept as a move.

    Raises
    ------
    WearlogError
        If a number is out of range.
    """
    findings = Findings()
    _check_count(findings, on_hand, least=0)
    if joining_links is not None:
        _check_count(findings, joining_links, least=0)
    findings.raise_if_any()
    with _job(bench, _("{n} counted: {name}"), part_type_id, on_hand) as (records, what):
        line = _line_of(records, part_type_id, depot)
        joining = line.joining_links if joining_links is None else joining_links
        _keep(records, replace(line, on_hand=on_hand, joining_links=joining))
        _move(records, line, bench.today(), on_hand - line.on_hand, StockMoveKind.COUNTED, bench.by)
        return _changed(what, records.change_id)


def use_part(
    bench: Bench,
    part_type_id: int,
    depot: str,
    count: int = 1,
    *,
    kind: StockMoveKind = StockMoveKind.USED,
    note: str = "",
) -> Changes:
    """Take pieces off the shelf that no visit took: used elsewhere, sent back or scrapped.

    Raises
    ------
    WearlogError
        If the number is out of range or there are not so many.
    """
    findings = Findings()
    _check_count(findings, count, least=1)
    findings.raise_if_any()
    with _job(bench, _("{n} taken off the shelf: {name}"), part_type_id, count) as (records, what):
        line = _line_of(records, part_type_id, depot)
        if line.on_hand < count:
            raise WearlogError(
                Problem(
                    ngettext(
                        "There is only {n} on the shelf.", "There are only {n} on the shelf.", line.on_hand
                    ).format(n=line.on_hand),
                    depot,
                    _("Count the shelf first if there are more."),
                )
            )
        _keep(records, replace(line, on_hand=line.on_hand - count))
        _move(records, line, bench.today(), -count, kind, bench.by, note=note)
        return _changed(what, records.change_id)


def agree_terms(bench: Bench, part_type_id: int, depot: str, terms: ShelfTerms) -> Changes:
    """Keep the price, lead time and least stock of a part type at a depot.

    Raises
    ------
    WearlogError
        If a number is out of range.
    """
    findings = Findings()
    if terms.lead_days is not None and not 0 <= terms.lead_days <= 730:
        findings.add(
            _("A lead time of {n} days is out of range.").format(n=terms.lead_days),
            _("lead time"),
            _("Give 0 to 730 days."),
        )
    if terms.price is not None and not 0.0 <= terms.price < 1e6:
        findings.add(_("The price is out of range."), _("price"), _("Give the price of one piece."))
    for number in (terms.least, terms.joining_links):
        if number is not None:
            _check_count(findings, number, least=0)
    findings.raise_if_any()
    with _job(bench, _("Terms kept: {name}"), part_type_id, 0) as (records, what):
        line = _line_of(records, part_type_id, depot)
        _keep(
            records,
            replace(
                line,
                lead_days=terms.lead_days,
                price=terms.price,
                least=terms.least,
                joining_links=terms.joining_links,
            ),
        )
        return _changed(what, records.change_id)


def call_off(bench: Bench, order_id: int) -> Changes:
    """Close an order of which nothing more will come.

    Raises
    ------
    WearlogError
        If it is not known or closed already.
    """
    what = _("Order called off")
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        order = records.get(PartOrder, order_id)
        if not order.open_count:
            raise WearlogError(
                Problem(
                    _("The order is closed already."),
                    todo=_("Read the list again."),
                    kind=ProblemKind.CONFLICT,
                )
            )
        records.replace(replace(order, closed_on=bench.today()))
        change_id = records.change_id
    return _changed(what, change_id)


@contextmanager
def _job(bench: Bench, words: str, part_type_id: int, count: int) -> Iterator[tuple[Records, str]]:
    """Open the transaction of one job at the shelf; yield its records and what it is called."""
    part_type = fleet_state(bench).part_types.get(part_type_id)
    if part_type is None:
        raise WearlogError(
            Problem(
                _("There is no such part type."),
                todo=_("Read the list again."),
                kind=ProblemKind.NOT_FOUND,
            )
        )
    what = words.format(n=count, name=part_type.name)
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        yield records, what


def _line_of(records: Records, part_type_id: int, depot: str) -> StockLine:
    """Return the stock line of a part type at a depot; a new empty one, not kept yet, if there is none."""
    found = records.first(StockLine, part_type_id=part_type_id, depot=depot)
    return found or StockLine(part_type_id=part_type_id, depot=depot)


def _keep(records: Records, line: StockLine) -> None:
    # One step for a new shelf: undo empties what was set up only if nothing happened to it since.
    if line.id:
        records.replace(line)
    else:
        records.add(line)


def _move(
    records: Records,
    line: StockLine,
    on: date,
    count: int,
    kind: StockMoveKind,
    by: str,
    *,
    order_id: int | None = None,
    note: str = "",
) -> None:
    records.add(
        StockMove(
            part_type_id=line.part_type_id,
            depot=line.depot,
            on=on,
            count=count,
            kind=kind,
            order_id=order_id,
            by=by,
            note=note,
        )
    )


def _lead_days(line: StockLine, part_type: PartType) -> int:
    return part_type.lead_time_days if line.lead_days is None else line.lead_days


def _check_count(findings: Findings, count: int, *, least: int) -> None:
    if not least <= count <= MOST_PIECES:
        findings.add(
            _("{n} pieces are out of range.").format(n=count),
            _("count"),
            _("Give {least} to {most}.").format(least=least, most=MOST_PIECES),
        )


def _day(bench: Bench, on: date | None, findings: Findings) -> date:
    today = bench.today()
    if on is not None and on > today:
        findings.add(_("The day lies ahead."), _("day"), _("Give the day on which it came."))
    return on or today


def _changed(what: str, change_id: str) -> Changes:
    # No vehicle is named: the shelf concerns every page that looks at parts.
    return Changes(what, change_id)
