"""The choice of the path that wear takes: straight unless the readings insist."""

from collections.abc import Sequence
from gettext import gettext as _

import numpy as np

from wearlog.fleet.progress import Progress
from wearlog.forecast.family_data import FamilyData
from wearlog.forecast.prior import FamilyPrior
from wearlog.forecast.readings import Floats
from wearlog.forecast.rounds import SEED, THETA_ROUNDS, Race
from wearlog.forecast.shape import PathShape, shape_menu

#: A bent path is looked for from this many parts with three readings, and tried on at most so many.
SHAPE_LEAST_PARTS, SHAPE_LEAST_READINGS, SHAPE_MOST_PARTS = 30, 3, 400
#: Log evidence by which a bent path must beat the straight line.
SHAPE_THRESHOLD = 10.0
#: Rounds that each path gets.
SHAPE_ROUNDS = 4
#: A path that lies farther than this behind the best after a round is given up.
HOPELESS_BEHIND = (120.0, 40.0, 15.0)


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
        Parts with three readings below which the path stays straight, [-].
    """
    menu = shape_menu(prior.pivot)
    parts = np.flatnonzero(data.readings.count >= SHAPE_LEAST_READINGS)
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
        Paths to try, all at once; the first is never given up.
    progress : Progress
        Told how far the work is; may stop it.
    seed : int
        Seed of the sample that theta is fitted to, [-].
    """
    jacobian = np.array([shape.log_jacobian(data.readings).sum() for shape in menu])
    race = Race(data, prior, [prior.law(shape=shape) for shape in menu], seed)
    evidence = np.full(len(menu), -np.inf)
    for number in range(SHAPE_ROUNDS):
        progress.step(number, SHAPE_ROUNDS, _("Comparing paths of wear"))
        is_settled = race.run(THETA_ROUNDS)
        evidence[:] = -np.inf
        evidence[race.runners] = race.evidence() + jacobian[race.runners]
        if is_settled:
            break
        if number < len(HOPELESS_BEHIND):
            behind = evidence[race.runners].max() - evidence[race.runners]
            race.keep(np.flatnonzero((behind < HOPELESS_BEHIND[number]) | (race.runners == 0)))
    return evidence
