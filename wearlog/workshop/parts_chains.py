"""Chains to be cut to length, and the joining links that close them."""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from datetime import timedelta

from wearlog.fleet.parts import PartKind, WearClass
from wearlog.planning.demand import demand_ahead
from wearlog.planning.stocking import chains_to_cut, joining_links_wanted
from wearlog.workshop.bench import Bench
from wearlog.workshop.due import all_lines
from wearlog.workshop.due_snapshot import DueCause
from wearlog.workshop.fleet_state import FleetState
from wearlog.workshop.parts_ahead import PartAhead
from wearlog.workshop.parts_snapshot import CutAhead, JoiningLinks, PartsLine

Key = tuple[int, str]
#: A chain at least this likely to be replaced is worth looking for one to cut, [-].
LIKELY = 0.5


def cuts_ahead(
    state: FleetState, wanted: Mapping[Key, Sequence[PartAhead]], lines: Sequence[PartsLine]
) -> tuple[CutAhead, ...]:
    """Return which chains on the shelf will have to be cut for drives whose chain is likely to be replaced.

    Chains of one designation and wear class stand in for each other if they are long enough.
    """
    shelf: dict[tuple[str, str, WearClass], Counter[int]] = defaultdict(Counter)
    for line in lines:
        part_type = state.part_types[line.part_type_id]
        if line.kind is PartKind.CHAIN and line.links and line.on_hand:
            shelf[line.depot, line.designation, part_type.wear_class][line.links] += line.on_hand
    needs: dict[tuple[str, str, WearClass], list[tuple[int, PartAhead]]] = defaultdict(list)
    for (type_id, depot), parts in wanted.items():
        part_type = state.part_types[type_id]
        if part_type.kind is not PartKind.CHAIN:
            continue
        for one in parts:
            links = one.installation.links or part_type.links
            if links and one.chance[-1] >= LIKELY:
                needs[depot, part_type.designation, part_type.wear_class].append((links, one))
    found = []
    for (depot, designation, wear_class), drives in needs.items():
        drives.sort(key=lambda need: -float(need[1].chance[-1]))
        cuts = chains_to_cut([links for links, _one in drives], shelf[depot, designation, wear_class])
        for (links, one), cut in zip(drives, cuts, strict=True):
            if cut.stock_links is None or not cut.links_to_cut:
                continue
            found.append(
                CutAhead(
                    tag=state.vehicles[one.installation.vehicle_id].tag,
                    depot=depot,
                    stage_name=state.stages[one.installation.stage_id].name,
                    designation=designation,
                    links=links,
                    from_links=cut.stock_links,
                )
            )
    return tuple(sorted(found, key=lambda one: (one.depot, one.designation, one.tag)))


def joining_links_ahead(
    bench: Bench,
    wanted: Mapping[Key, Sequence[PartAhead]],
    lines: Sequence[PartsLine],
    weeks: int,
    level: float,
) -> tuple[JoiningLinks, ...]:
    """Return joining links by kind: one for each new chain and for each chain that has links taken out."""
    until = bench.today() + timedelta(days=7 * weeks)
    shortened: Counter[int] = Counter(
        line.stage_id
        for line in all_lines(bench)
        if line.reason.cause is DueCause.ADJUSTER_FORECAST and line.due_on <= until
    )
    groups: dict[tuple[str, str, str], list[PartAhead]] = defaultdict(list)
    on_hand: Counter[tuple[str, str, str]] = Counter()
    for line in lines:
        if line.kind is PartKind.CHAIN and line.joining_link:
            kind = (line.depot, line.designation, line.joining_link)
            groups[kind] += wanted.get(line.key, ())
            on_hand[kind] += line.joining_links
    found = []
    for kind, parts in groups.items():
        depot, designation, joining = kind
        chains = demand_ahead([one.chance for one in parts]) if parts else None
        found.append(
            JoiningLinks(
                depot=depot,
                designation=designation,
                kind=joining,
                on_hand=on_hand[kind],
                for_chains=0 if chains is None else joining_links_wanted(chains, level=level),
                for_shortening=sum(shortened[one.installation.stage_id] for one in parts),
            )
        )
    return tuple(sorted(found, key=lambda one: (one.depot, one.designation, one.kind)))
