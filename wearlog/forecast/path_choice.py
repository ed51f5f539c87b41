"""The choice of the path that wear takes: straight unless the readings insist."""

from collections.abc import Sequence
from gettext import gettext as _

import numpy as np

from wearlog.fleet.progress import Progress
from wearlog.forecast.family_data import FamilyData
from wearlog.forecast.prior import FamilyPrior
from wearlog.forecast.readings import Floats
from wearlog.forecast.rounds import NEWTON_STEPS, SEED, Race
from wearlog.forecast.shape import PathShape, shape_menu

#: A bent path is looked for from so many parts with three values each, and tried on at most so many.
SHAPE_LEAST_PARTS, SHAPE_LEAST_READINGS, SHAPE_MOST_PARTS = 10, 3, 400
#: Log evidence by which a bent path must beat the straight line.
SHAPE_THRESHOLD = 10.0
#: Steps for theta of a bent path in each round, after which the hopeless are given up.
SHAPE_STEPS = (3, 0, 1, 1, 0)
#: A path that lies farther than this behind the best in a round is given up; infinite where it is no use.
HOPELESS_BEHIND = (np.inf, 60.0, 25.0, 12.0, np.inf)
#: Parts that theta of a path is fitted to in the first round.
SHAPE_FIRST_PARTS = 60


def chosen_shape(
    data: FamilyData,
    prior: FamilyPrior,
    progress: Progress,
    seed: int = SEED,
    least_parts: int = SHAPE_LEAST_PARTS,
) -> PathShape:
    """Return the path of the menu that the readings insist on, else the straight line.

    Parameters
    ----------
    data : FamilyData
        Readings of n parts.
    prior : FamilyPrior
        What is believed before.
    progress : Progress
        Told how far the work is; may stop it.
    seed : int
        Seed of the sample, [-].
    least_parts : int
        Parts with three values, points or closed gauges, below which the path stays straight, [-].
    """
    menu = shape_menu(prior.pivot)
    # "Came off worn" and other readings open to one side say that wear went on, not along which path.
    table = data.readings
    is_closed = np.isfinite(table.y) | (np.isfinite(table.lo) & np.isfinite(table.hi))
    parts = np.flatnonzero(is_closed.sum(axis=1) >= SHAPE_LEAST_READINGS)
    if parts.size < least_parts:
        return menu[0]
    if parts.size > SHAPE_MOST_PARTS:
        parts = np.sort(np.random.default_rng(seed).choice(parts, SHAPE_MOST_PARTS, replace=False))
    sample = FamilyData(
        data.readings.take(parts),
        data.cell[parts],
        data.engineering_mean,
        None if data.vehicle is None else data.vehicle[parts],
    )
    evidence = shape_evidence(sample, prior, menu, progress, seed)
    best = int(np.argmax(evidence))
    return menu[best] if evidence[best] > evidence[0] + SHAPE_THRESHOLD else menu[0]


def shape_evidence(
    data: FamilyData, prior: FamilyPrior, menu: Sequence[PathShape], progress: Progress, seed: int = SEED
) -> Floats:
    """Return the log evidence of each path, shape (n_paths,), [-]; minus infinity for one given up early.

    Parameters
    ----------
    data : FamilyData
        Readings of n parts.
    prior : FamilyPrior
        What is believed before.
    menu : sequence of PathShape
        Paths to try, all but the first at once; the first is straight and never given up.
    progress : Progress
        Told how far the work is; may stop it.
    seed : int
        Seed of the sample that theta is fitted to, [-].
    """
    jacobian = np.array([shape.log_jacobian(data.readings).sum() for shape in menu])
    lead = Race(data, prior, [prior.law(shape=menu[0])], seed, SHAPE_FIRST_PARTS)
    evidence = np.full(len(menu), -np.inf)
    progress.step(0, len(SHAPE_STEPS), _("Comparing paths of wear"))
    lead.run(NEWTON_STEPS[0])
    # Bent paths make do at first with what the straight one knows of the curvature.
    race = Race(data, prior, [prior.law(shape=shape) for shape in menu[1:]], seed, SHAPE_FIRST_PARTS)
    race.run(SHAPE_STEPS[0], lead.curvature, lead.tau_vehicle)
    for number, (steps, behind) in enumerate(zip(SHAPE_STEPS[1:], HOPELESS_BEHIND[1:], strict=True), 1):
        progress.step(number, len(SHAPE_STEPS), _("Comparing paths of wear"))
        lead.run(steps)
        race.run(steps, tau_vehicle=lead.tau_vehicle)
        runners = race.runners + 1
        evidence[:] = -np.inf
        evidence[0] = lead.evidence()[0] + jacobian[0]
        evidence[runners] = race.evidence() + jacobian[runners]
        kept = np.flatnonzero(evidence[runners] > evidence.max() - behind)
        if not kept.size:
            break
        race.keep(kept)
    return evidence
