"""What parts will be wanted, what lies on the shelf, and what to order by when."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from gettext import gettext as _

import numpy as np

from wearlog.fleet.parts import PartKind, PartType
from wearlog.fleet.problem import Problem, WearlogError
from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.stock import PartOrder, StockLine
from wearlog.planning.demand import Demand, demand_ahead
from wearlog.planning.stocking import StockAdvice, Supply, ordered_together, stock_advice
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.parts_ahead import PartAhead, parts_ahead
from wearlog.workshop.parts_chains import cuts_ahead, joining_links_ahead
from wearlog.workshop.parts_snapshot import (
    ComingDue,
    OpenOrder,
    PartsLine,
    PartsSnapshot,
    SetAhead,
    WeekDemand,
)

#: Weeks looked ahead, and the chance of having enough, unless asked otherwise.
WEEKS = 8
LEVEL = 0.95
MOST_WEEKS = 52
#: An installation less likely to be replaced than this is no reason worth telling.
LEAST_CHANCE_TOLD = 0.02
#: A set is ordered together if its chain comes due and its sprockets go along with at least these chances.
SET_CHANCE = 0.1
SET_ALONG = 0.5

Key = tuple[int, str]


@dataclass(frozen=True, slots=True)
class _Shelf:
    """Stock lines and open orders as they are kept."""

    lines: dict[Key, StockLine]
    orders: dict[Key, tuple[PartOrder, ...]]


def parts_snapshot(
    bench: Bench,
    weeks: int = WEEKS,
    level: float = LEVEL,
    depot: str = "",
    progress: Progress | None = None,
) -> PartsSnapshot:
    """Return the shelf, the demand ahead and what to order.

    Parameters
    ----------
    weeks
        How many weeks are looked ahead.
    level
        Chance of having enough, above 0 and below 1.
    depot
        One depot only; all of them if empty.

    Raises
    ------
    WearlogError
        If weeks or level are out of range, or there is no such depot.
    """
    _check(weeks, level)
    state = fleet_state(bench)
    today = bench.today()
    told = progress or Silent()
    ahead = parts_ahead(bench, weeks, told)
    shelf = _shelf(bench, state.data_version)
    depots = _depots(state, shelf)
    if depot:
        depot = _depot_named(depot, depots)
    wanted = _by_key(state, ahead, shelf, depot)
    told.step(0, 1, "Adding up the demand")
    demands = {key: demand_ahead(_chances(parts, weeks)) for key, parts in wanted.items()}
    supplies = {key: _supply(state, shelf, key, today) for key in wanted}
    keys = sorted(wanted, key=lambda key: _order_of(state.part_types[key[0]], key[1]))
    sets = _sets(state, ahead, depot)
    places = {key: n for n, key in enumerate(keys)}
    advice = ordered_together(
        [stock_advice(demands[key], supplies[key], level) for key in keys],
        [[places[type_id, one.depot] for type_id in one.part_type_ids] for one in sets],
    )
    set_with = _set_with(sets)
    lines = tuple(
        _line(state, shelf, key, wanted[key], demands[key], supplies[key], one, level, today, set_with)
        for key, one in zip(keys, advice, strict=True)
    )
    return PartsSnapshot(
        today=today,
        weeks=weeks,
        level=level,
        lines=lines,
        sets=sets,
        cuts=cuts_ahead(state, wanted, lines),
        joining_links=joining_links_ahead(bench, wanted, lines, weeks, level),
        orders=_open_orders(state, shelf, depot),
        depots=depots,
        vehicles=sum(1 for vehicle in state.vehicles.values() if vehicle.retired_on is None),
        data_version=state.data_version,
    )


def _check(weeks: int, level: float) -> None:
    if not 1 <= weeks <= MOST_WEEKS:
        raise WearlogError(
            Problem(
                _("{n} weeks are out of range.").format(n=weeks),
                _("weeks"),
                _("Give 1 to {most} weeks.").format(most=MOST_WEEKS),
            )
        )
    if not 0.5 <= level <= 0.999:
        raise WearlogError(
            Problem(
                _("A service level of {level:.1%} is out of range.").format(level=level),
                _("service level"),
                _("Give 80, 90, 95 or 99 per cent, or any number from 50 to 99.9."),
            )
        )


def _shelf(bench: Bench, version: int) -> _Shelf:
    known = bench.remembered.get("shelf")
    if known is not None and known[0] == version and isinstance(known[1], _Shelf):
        return known[1]
    with bench.database.reading() as records:
        lines = {(line.part_type_id, line.depot): line for line in records.all(StockLine)}
        orders: dict[Key, list[PartOrder]] = defaultdict(list)
        for order in records.all(PartOrder, live=True, closed_on=None):
            if order.open_count:
                orders[order.part_type_id, order.depot].append(order)
    shelf = _Shelf(lines, {key: tuple(found) for key, found in orders.items()})
    bench.remembered["shelf"] = (version, shelf)
    return shelf


def _depots(state: FleetState, shelf: _Shelf) -> tuple[str, ...]:
    names = {v.depot for v in state.vehicles.values() if v.retired_on is None}
    names |= {depot for _type, depot in shelf.lines}
    return tuple(sorted(names, key=str.casefold))


def _depot_named(depot: str, depots: tuple[str, ...]) -> str:
    name = {known.casefold(): known for known in depots}.get(depot.strip().casefold())
    if name is None:
        raise WearlogError(
            Problem(
                _("There is no depot {depot}.").format(depot=depot),
                "",
                _("Depots: {depots}.").format(depots=", ".join(depots) or "–"),
            )
        )
    return name


def _by_key(
    state: FleetState, ahead: Iterable[PartAhead], shelf: _Shelf, depot: str
) -> dict[Key, list[PartAhead]]:
    found: dict[Key, list[PartAhead]] = defaultdict(list)
    for one in ahead:
        found[one.part_type_id, state.vehicles[one.installation.vehicle_id].depot].append(one)
    for key in (*shelf.lines, *shelf.orders):
        found.setdefault(key, [])
    return {key: parts for key, parts in found.items() if not depot or key[1] == depot}


def _chances(parts: list[PartAhead], weeks: int) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return np.array([one.chance for one in parts]) if parts else np.zeros((0, weeks))


def _supply(state: FleetState, shelf: _Shelf, key: Key, today: date) -> Supply:
    line = shelf.lines.get(key)
    lead = state.part_types[key[0]].lead_time_days
    if line is not None and line.lead_days is not None:
        lead = line.lead_days
    return Supply(
        on_hand=line.on_hand if line else 0,
        arriving=tuple(
            (order.open_count, max((_expected(order, lead) - today).days, 0))
            for order in shelf.orders.get(key, ())
        ),
        lead_days=lead,
        least=(line.least or 0) if line else 0,
    )


def _expected(order: PartOrder, lead_days: int) -> date:
    return order.expected_on or order.ordered_on + timedelta(days=lead_days)


_KINDS = {PartKind.CHAIN: 0, PartKind.SPROCKET: 1, PartKind.BELT: 2, PartKind.PULLEY: 3}


def _order_of(part_type: PartType, depot: str) -> tuple[object, ...]:
    family = part_type.chain or part_type.designation
    size = part_type.links or part_type.teeth or 0
    return _KINDS[part_type.kind], family, size, part_type.name, depot.casefold()


def _line(
    state: FleetState,
    shelf: _Shelf,
    key: Key,
    parts: list[PartAhead],
    demand: Demand,
    supply: Supply,
    advice: StockAdvice,
    level: float,
    today: date,
    set_with: dict[Key, tuple[str, ...]],
) -> PartsLine:
    part_type = state.part_types[key[0]]
    line = shelf.lines.get(key)
    price = line.price if line is not None and line.price is not None else part_type.price
    orders = shelf.orders.get(key, ())
    return PartsLine(
        part_type_id=part_type.id,
        name=part_type.name,
        kind=part_type.kind,
        designation=part_type.designation,
        links=part_type.links,
        joining_link=part_type.joining_link,
        depot=key[1],
        line_id=line.id if line else 0,
        line_version=line.version if line else 0,
        on_hand=supply.on_hand,
        on_order=supply.on_order,
        next_arrival=min((_expected(order, supply.lead_days) for order in orders), default=None),
        lead_days=supply.lead_days,
        price=price,
        least=supply.least,
        joining_links=line.joining_links if line else 0,
        running=len(parts),
        is_followed=any(one.outlook is not None for one in parts),
        weeks=_weeks(demand, level, today),
        chances=_trimmed(demand),
        wanted=advice.wanted,
        short=advice.short,
        order_now=advice.order_now,
        order_by=_day_after(today, advice.order_in_days),
        short_from=_day_after(today, advice.short_from_days),
        chance_enough=advice.chance_enough,
        coming=_coming(state, parts),
        set_with=set_with.get(key, ()),
    )


def _day_after(today: date, days: int | None) -> date | None:
    return None if days is None else today + timedelta(days=days)


def _weeks(demand: Demand, level: float, today: date) -> tuple[WeekDemand, ...]:
    few, many, enough = demand.quantile(0.1), demand.quantile(0.9), demand.quantile(level)
    return tuple(
        WeekDemand(
            today + timedelta(days=7 * (week + 1)),
            float(mean),
            int(few[week]),
            int(many[week]),
            int(enough[week]),
        )
        for week, mean in enumerate(demand.mean)
    )


def _trimmed(demand: Demand) -> tuple[float, ...]:
    """Return the law at the end without its empty tail."""
    law = demand.chance[-1]
    last = int(np.flatnonzero(law > 1e-6)[-1])
    return tuple(float(chance) for chance in law[: last + 1])


def _coming(state: FleetState, parts: list[PartAhead]) -> tuple[ComingDue, ...]:
    likely = sorted(parts, key=lambda one: -float(one.chance[-1]))
    return tuple(
        ComingDue(
            vehicle_id=one.installation.vehicle_id,
            installation_id=one.installation.id,
            tag=state.vehicles[one.installation.vehicle_id].tag,
            stage_name=state.stages[one.installation.stage_id].name,
            chance=float(one.chance[-1]),
            is_called_in=one.is_called_in,
            is_with_set=one.is_with_set,
        )
        for one in likely
        if one.chance[-1] >= LEAST_CHANCE_TOLD
    )


def _sets(state: FleetState, ahead: Iterable[PartAhead], depot: str) -> tuple[SetAhead, ...]:
    """Return the stages whose chain will most likely be replaced together with its sprockets."""
    stages: dict[int, list[PartAhead]] = defaultdict(list)
    for one in ahead:
        if not depot or state.vehicles[one.installation.vehicle_id].depot == depot:
            stages[one.installation.stage_id].append(one)
    found = []
    for stage_id, parts in stages.items():
        kinds = {one.installation.id: state.part_types[one.part_type_id].kind for one in parts}
        chain = next((one for one in parts if kinds[one.installation.id] is PartKind.CHAIN), None)
        wheels = [one for one in parts if kinds[one.installation.id] is PartKind.SPROCKET]
        if chain is None or not wheels or chain.chance[-1] < SET_CHANCE:
            continue
        together = min(float(wheel.chance[-1]) for wheel in wheels)
        if together < SET_ALONG * float(chain.chance[-1]):
            continue
        vehicle = state.vehicles[chain.installation.vehicle_id]
        types = [state.part_types[one.part_type_id] for one in (chain, *wheels)]
        due = None if chain.outlook is None else chain.outlook.due_day
        found.append(
            SetAhead(
                vehicle_id=vehicle.id,
                tag=vehicle.tag,
                depot=vehicle.depot,
                stage_name=state.stages[stage_id].name,
                part_type_ids=tuple(one.id for one in types),
                names=tuple(one.name for one in types),
                chance=float(chain.chance[-1]),
                chance_together=together,
                due_on=_ordinal(due),
            )
        )
    return tuple(sorted(found, key=lambda one: (-one.chance_together, one.tag)))


def _ordinal(day: float | None) -> date | None:
    if day is None or not np.isfinite(day) or not 1 <= day < date.max.toordinal():
        return None
    return date.fromordinal(int(day))


def _set_with(sets: tuple[SetAhead, ...]) -> dict[Key, tuple[str, ...]]:
    found: dict[Key, dict[str, None]] = defaultdict(dict)
    for one in sets:
        for n, type_id in enumerate(one.part_type_ids):
            for other, name in enumerate(one.names):
                if other != n:
                    found[type_id, one.depot][name] = None
    return {key: tuple(names) for key, names in found.items()}


def _open_orders(state: FleetState, shelf: _Shelf, depot: str) -> tuple[OpenOrder, ...]:
    found = [
        OpenOrder(
            order_id=order.id,
            part_type_id=order.part_type_id,
            name=state.part_types[order.part_type_id].name,
            depot=order.depot,
            count=order.count,
            received=order.received_count,
            ordered_on=order.ordered_on,
            expected_on=order.expected_on,
        )
        for orders in shelf.orders.values()
        for order in orders
        if not depot or order.depot == depot
    ]
    return tuple(sorted(found, key=lambda one: (one.expected_on or date.max, one.order_id)))


def of_line(snapshot: PartsSnapshot, key: Key) -> PartsLine | None:
    """Return the line of a part type at a depot."""
    return next((line for line in snapshot.lines if line.key == key), None)


def narrowed(snapshot: PartsSnapshot, depot: str) -> PartsSnapshot:
    """Return the part of a snapshot that concerns one depot."""
    return replace(
        snapshot,
        lines=tuple(line for line in snapshot.lines if line.depot == depot),
        sets=tuple(one for one in snapshot.sets if one.depot == depot),
        cuts=tuple(one for one in snapshot.cuts if one.depot == depot),
        joining_links=tuple(one for one in snapshot.joining_links if one.depot == depot),
        orders=tuple(one for one in snapshot.orders if one.depot == depot),
    )
