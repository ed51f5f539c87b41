"""Dates that were foretold during the year, held against the day on which the true wear is at its limit."""

from dataclasses import dataclass

import numpy as np

from sample_fleet.fitted import Fitted
from tests.benchmarks.year.world import World
from wearlog.fleet.reading import Measurand
from wearlog.workshop.bench import Bench
from wearlog.workshop.fleet_state import fleet_state
from wearlog.workshop.outlook import outlooks

#: Forecasts whose middle lies further ahead are not judged: too few of them are settled within a year, [d].
JUDGED_DAYS = 182
#: Ends of the 50, 80 and 95 % intervals among the levels.
ENDS = ((2, 4), (1, 5), (0, 6))


@dataclass(frozen=True, slots=True)
class Foretold:
    """One forecast: the part it speaks of, the day it was made, and its ordinal days at the levels."""

    tag: str
    part: Fitted
    made_on: int
    days: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Score:
    """How forecasts did: their number, median error and error's middle in days, shares inside intervals."""

    count: int
    median_error: float
    lean: float
    inside: tuple[float, float, float]


def foretold_today(bench: Bench, world: World) -> list[Foretold]:
    """Return what the program says today of every chain and sprocket that was measured.

    The part of the true fleet is only kept beside it, to be looked at when the year is over.
    """
    state = fleet_state(bench)
    today = bench.today().toordinal()
    found = []
    for (installation_id, measurand), outlook in outlooks(bench).items():
        if measurand is Measurand.BELT_TENSION or not outlook.readings:
            continue
        if not today < outlook.limit_day[3] <= today + JUDGED_DAYS:
            continue
        installation = state.installations[installation_id]
        tag = state.vehicles[installation.vehicle_id].tag
        if tag not in world.vehicles:
            continue
        stage = world.vehicles[tag].stage(state.stages[installation.stage_id].name)
        part = stage.parts[installation.position.value]
        found.append(Foretold(tag, part, today, tuple(outlook.limit_day.tolist())))
    return found


def score(world: World, foretold: list[Foretold]) -> Score:
    """Return how the forecasts did; a part's end is known once it came off or the year is over."""
    if not foretold:
        return Score(0, np.nan, np.nan, (np.nan, np.nan, np.nan))
    true = np.array([world.day_at(one.tag, world.ends[id(one.part)]) for one in foretold])
    days = np.array([one.days for one in foretold])
    error = days[:, 3] - true
    inside = [float(np.mean((days[:, low] <= true) & (true <= days[:, high]))) for low, high in ENDS]
    return Score(
        len(foretold),
        float(np.median(np.abs(error))),
        float(np.median(error)),
        (inside[0], inside[1], inside[2]),
    )
