"""The chance of every running part to be replaced by the end of each coming week, sets together."""

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from wearlog.drive.replacing import SHARE_FOR_SET
from wearlog.fleet.fitting import Installation, Position
from wearlog.fleet.parts import PartKind
from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.reading import Measurand
from wearlog.fleet.state import State
from wearlog.forecast.crossing import equally_likely_crossings
from wearlog.forecast.date_table import DateDistributions, date_distributions
from wearlog.planning.demand import chance_of_replacing, chance_with_set, spread_after_reading
from wearlog.workshop.bench import Bench
from wearlog.workshop.conditions import conditions
from wearlog.workshop.fleet_state import FleetState, fleet_state
from wearlog.workshop.outlook import Outlook, outlooks

Floats = NDArray[np.float64]

#: Measurands whose limit means a new part; belts come to theirs by losing tension.
REPLACED_BY = {
    PartKind.CHAIN: Measurand.CHAIN_ELONGATION,
    PartKind.SPROCKET: Measurand.SPROCKET_TOOTH_THICKNESS,
}
#: Standard uncertainty of a reading as a share of the allowance, [-]; assumption.
U_READING = 0.1
#: A part whose allowance used is known to this standard deviation is replaced on its due date unread, [-].
KNOWN_WELL = 0.1


@dataclass(frozen=True, slots=True)
class PartAhead:
    """What is to be expected of one running part.

    Attributes
    ----------
    own
        Chance that its own wear has it replaced by the end of each week, shape (n_weeks,).
    chance
        The same with what goes along as a set.
    goes_along
        For sprockets: chance that it would be changed along with the chain today.
    outlook
        None if its wear is not followed.
    """

    installation: Installation
    part_type_id: int
    own: Floats
    chance: Floats
    goes_along: float
    is_called_in: bool
    outlook: Outlook | None

    @property
    def is_with_set(self) -> bool:
        """Whether it goes along with another part more likely than on its own."""
        return bool(self.chance[-1] > 2.0 * self.own[-1] and self.chance[-1] > 0.05)


def dates_by_family(chosen: list[Outlook]) -> list[tuple[list[Outlook], DateDistributions, Floats]]:
    """Return by which day running parts will have passed their limits, family by family.

    With them the equally likely use still to go at the last meter entry, shape (n, n_crossings), km (h).
    """
    families: dict[int, list[Outlook]] = defaultdict(list)
    for outlook in chosen:
        families[id(outlook.family)].append(outlook)
    result = []
    for group in families.values():
        posterior = group[0].family.fit.posterior.take([one.row for one in group])
        crossings = equally_likely_crossings(posterior)
        ahead = [
            one.item.ahead_of(one.use.last_use, crossing)
            for one, crossing in zip(group, crossings, strict=True)
        ]
        dates = date_distributions(
            np.array(ahead),
            [one.use.usage for one in group],
            [one.use.clock for one in group],
            [one.use.last_day for one in group],
        )
        result.append((group, dates, np.array(ahead)))
    return result


def parts_ahead(bench: Bench, weeks: int, progress: Progress | None = None) -> tuple[PartAhead, ...]:
    """Return what is to be expected of every running part; worked out again only if something changed.

    Parameters
    ----------
    weeks
        How many weeks are looked ahead.
    """
    state = fleet_state(bench)
    today = bench.today()
    mark = (state.data_version, today, weeks)
    known = bench.remembered.get("parts ahead")
    if known is not None and known[0] == mark and isinstance(known[1], tuple):
        return known[1]
    told = progress or Silent()
    found = outlooks(bench, told)
    told.step(0, 1, "Looking at the demand ahead")
    chosen = [one for (_id, measurand), one in found.items() if measurand in REPLACED_BY.values()]
    past = _past_by_week(chosen, today, weeks)
    graded = conditions(bench)
    level = state.policy.caution_level
    by_stage: dict[int, list[PartAhead]] = defaultdict(list)
    for installation in state.installations.values():
        if not installation.is_current or state.vehicles[installation.vehicle_id].retired_on is not None:
            continue
        part_type = state.part_type_of(installation)
        measurand = REPLACED_BY.get(part_type.kind)
        outlook = None if measurand is None else found.get((installation.id, measurand))
        condition = graded.get(installation.id)
        is_worn_by_eye = condition is not None and condition.state is State.PAST_LIMIT
        is_called_in = is_worn_by_eye or _is_called_in(outlook, today)
        own = np.zeros(weeks)
        if is_called_in:
            own = np.ones(weeks)
        elif outlook is not None:
            left = spread_after_reading(outlook.allowance_sd, U_READING)
            own = chance_of_replacing(past[installation.id], level, left)
        by_stage[installation.stage_id].append(
            PartAhead(
                installation=installation,
                part_type_id=part_type.id,
                own=own,
                chance=own,
                goes_along=_goes_along(part_type.kind, outlook, is_worn_by_eye=is_worn_by_eye),
                is_called_in=is_called_in,
                outlook=outlook,
            )
        )
    result = tuple(one for parts in by_stage.values() for one in _as_sets(state, parts))
    bench.remembered["parts ahead"] = (mark, result)
    return result


def _past_by_week(chosen: list[Outlook], today: date, weeks: int) -> dict[int, Floats]:
    """Return the chance of being past the limit by the end of each week, by installation."""
    ends = today.toordinal() + 7 * np.arange(1, weeks + 1)
    result: dict[int, Floats] = {}
    for group, dates, _ahead in dates_by_family(chosen):
        last = np.array([one.use.last_day for one in group])
        past = np.maximum.accumulate(np.clip(dates.cdf(ends[None, :] - last[:, None]), 0.0, 1.0), axis=1)
        for one, row in zip(group, past, strict=True):
            result[one.item.installation.id] = row
    return result


def _is_called_in(outlook: Outlook | None, today: date) -> bool:
    """Whether the part will be replaced for certain as it comes in: due, and known well enough.

    One that is due because little is known of it is read again first, and most of those stay on.
    """
    if outlook is None or not outlook.readings or outlook.due_day > today.toordinal():
        return False
    return outlook.state is State.PAST_LIMIT or outlook.allowance_sd <= KNOWN_WELL


def _goes_along(kind: PartKind, outlook: Outlook | None, *, is_worn_by_eye: bool) -> float:
    """Return the chance that a sprocket is too worn for a new chain."""
    if kind is not PartKind.SPROCKET:
        return 0.0
    if is_worn_by_eye:
        return 1.0
    if outlook is None:
        return 0.0
    return float(ndtr((outlook.allowance_mean - SHARE_FOR_SET) / max(outlook.allowance_sd, 1e-6)))


def _as_sets(state: FleetState, parts: list[PartAhead]) -> list[PartAhead]:
    """Return the parts of one stage with what goes along: chain and both sprockets are changed as a set."""
    chain = next((one for one in parts if _is_chain(state, one)), None)
    wheels = [one for one in parts if state.part_types[one.part_type_id].kind is PartKind.SPROCKET]
    if chain is None or not wheels:
        return parts
    stays = np.ones_like(chain.own)
    for wheel in wheels:
        stays = stays * (1.0 - wheel.own)
    any_wheel = 1.0 - stays
    along = 1.0 - float(np.prod([1.0 - wheel.goes_along for wheel in wheels]))
    with_set = {
        chain.installation.id: chance_with_set(chain.own, any_wheel, 1.0),
        **{wheel.installation.id: chance_with_set(any_wheel, chain.own, along) for wheel in wheels},
    }
    return [replace(one, chance=with_set.get(one.installation.id, one.own)) for one in parts]


def _is_chain(state: FleetState, one: PartAhead) -> bool:
    kind = state.part_types[one.part_type_id].kind
    return kind is PartKind.CHAIN and one.installation.position is Position.RUN
