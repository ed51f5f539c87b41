"""Parts lists as the page shows them, without a database; all invented."""

from dataclasses import replace
from datetime import date, timedelta

from wearlog.fleet.parts import PartKind
from wearlog.planning.demand import demand_ahead
from wearlog.planning.stocking import Supply, stock_advice
from wearlog.workshop.parts_snapshot import (
    ComingDue,
    CutAhead,
    JoiningLinks,
    PartsLine,
    PartsSnapshot,
    SetAhead,
    WeekDemand,
)

TODAY = date(2026, 11, 23)
UPPER, HARBOUR = "Upper Depot", "Harbour Depot"


def parts_line(
    part_type_id: int = 1,
    name: str = "Chain 428 116 links",
    *chances: float,
    depot: str = UPPER,
    kind: PartKind = PartKind.CHAIN,
    on_hand: int | None = 1,
    on_order: int = 0,
    lead_days: int = 10,
    price: float | None = 50.0,
    weeks: int = 8,
    level: float = 0.95,
) -> PartsLine:
    """A line whose installations come due with these chances by the end, in equal steps."""
    ahead = [[p * (week + 1) / weeks if p < 1.0 else 1.0 for week in range(weeks)] for p in chances]
    demand = demand_ahead(ahead or [[0.0] * weeks])
    supply = Supply(on_hand or 0, ((on_order, 5),) if on_order else (), lead_days)
    advice = stock_advice(demand, supply, level)
    few, many, enough = demand.quantile(0.1), demand.quantile(0.9), demand.quantile(level)
    return PartsLine(
        part_type_id=part_type_id,
        name=name,
        kind=kind,
        designation="428",
        links=116 if kind is PartKind.CHAIN else None,
        joining_link="rivet" if kind is PartKind.CHAIN else "",
        depot=depot,
        line_id=0 if on_hand is None else part_type_id,
        line_version=0 if on_hand is None else 1,
        on_hand=on_hand or 0,
        on_order=on_order,
        next_arrival=TODAY + timedelta(days=5) if on_order else None,
        lead_days=lead_days,
        price=price,
        least=0,
        joining_links=0,
        running=len(chances),
        is_followed=kind in {PartKind.CHAIN, PartKind.SPROCKET},
        weeks=tuple(
            WeekDemand(
                TODAY + timedelta(days=7 * (week + 1)),
                float(demand.mean[week]),
                int(few[week]),
                int(many[week]),
                int(enough[week]),
            )
            for week in range(weeks)
        ),
        chances=tuple(float(chance) for chance in demand.chance[-1]),
        wanted=advice.wanted,
        short=advice.short,
        order_now=advice.order_now,
        order_by=None if advice.order_in_days is None else TODAY + timedelta(days=advice.order_in_days),
        short_from=None,
        chance_enough=advice.chance_enough,
        coming=tuple(
            ComingDue(n, n, f"LR-{n:03d}", "final drive", chance, is_called_in=chance >= 1.0)
            for n, chance in enumerate(chances, start=1)
        ),
    )


def some_parts() -> PartsSnapshot:
    """Two depots, a few part types, a set, a chain to cut."""
    chain = parts_line(1, "Chain 428 116 links", 1.0, 0.6, 0.3, 0.05, on_hand=1)
    sprocket = parts_line(2, "Sprocket 428 14 t", 1.0, 0.2, kind=PartKind.SPROCKET, on_hand=None, price=None)
    belt = parts_line(3, "Belt H8M 90 t", kind=PartKind.BELT, on_hand=2)
    other = parts_line(1, "Chain 428 116 links", 0.2, depot=HARBOUR, on_hand=3)
    return PartsSnapshot(
        today=TODAY,
        weeks=8,
        level=0.95,
        lines=(
            replace(chain, set_with=("Sprocket 428 14 t",)),
            replace(sprocket, set_with=("Chain 428 116 links",)),
            replace(belt, running=2),
            other,
        ),
        sets=(
            SetAhead(1, "LR-001", UPPER, "final drive", (1, 2), (chain.name, sprocket.name), 1.0, 1.0, TODAY),
        ),
        cuts=(CutAhead("LR-002", UPPER, "final drive", "428", 110, 116),),
        joining_links=(JoiningLinks(UPPER, "428", "rivet", 1, 3, 1),),
        depots=(HARBOUR, UPPER),
        vehicles=6,
    )
