"""The rounds in which parts, fleet and theta come to agree, and the choice of the path they do it on."""

from dataclasses import dataclass
from gettext import gettext as _

import numpy as np

from wearlog.fleet.progress import Progress, Silent
from wearlog.forecast.family_data import FamilyData
from wearlog.forecast.fleet_step import (
    FleetLayout,
    FleetStep,
    Messages,
    fleet_step,
    nothing_learnt,
    part_messages,
)
from wearlog.forecast.law import WearLaw
from wearlog.forecast.prior import FamilyPrior
from wearlog.forecast.rate_grid import FITTING_NODES, FITTING_SPAN, GridPlace, RateGrid, integrate_rate
from wearlog.forecast.readings import ReadingTable
from wearlog.forecast.shape import PathShape, shape_menu
from wearlog.forecast.theta import DIFFERENCE, fitted_theta, theta_sample

ROUNDS = 6
THETA_ROUNDS = 3
#: Rounds end when no prior mean moves more than this, and tau by no more than this share.
SETTLED = 1e-3
#: A bent path is looked for from this many parts with three readings, and tried on at most so many.
SHAPE_LEAST_PARTS, SHAPE_LEAST_READINGS, SHAPE_MOST_PARTS = 30, 3, 400
#: Log evidence by which a bent path must beat the straight line.
SHAPE_THRESHOLD = 10.0
#: Seed of the samples; any number does, it only has to stay the same.
SEED = 20250917


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
    evidence = []
    for number, shape in enumerate(menu):
        progress.step(number, len(menu), _("Comparing paths of wear"))
        rounds = fit_rounds(sample, prior, prior.law(shape=shape), Silent(), seed, THETA_ROUNDS)
        evidence.append(float(rounds.grid.log_evidence.sum() + shape.log_jacobian(sample.readings).sum()))
    best = int(np.argmax(evidence))
    return menu[best] if evidence[best] > evidence[0] + SHAPE_THRESHOLD else menu[0]


@dataclass(frozen=True, slots=True)
class Rounds:
    """Where the rounds ended.

    Attributes
    ----------
    law : WearLaw
        Fitted numbers and path.
    layout : FleetLayout
        Cells and vehicles of the parts.
    straight : ReadingTable
        Readings on the straightened scale.
    messages : Messages
        What each part says by itself.
    step : FleetStep
        Spreads, effects, and the prior of each part.
    grid : RateGrid
        Rate and wear of each part, made with the priors before the last fleet step.
    """

    law: WearLaw
    layout: FleetLayout
    straight: ReadingTable
    messages: Messages
    step: FleetStep
    grid: RateGrid


def fit_rounds(
    data: FamilyData, prior: FamilyPrior, law: WearLaw, progress: Progress, seed: int, theta_rounds: int
) -> Rounds:
    """Return where parts and fleet have come to agree, after at most six rounds.

    Parameters
    ----------
    data : FamilyData
        Readings of n parts.
    prior : FamilyPrior
        What is believed before.
    law : WearLaw
        Where theta starts from, and the path to keep.
    progress : Progress
        Told how far the work is; may stop it.
    seed : int
        Seed of the sample that theta is fitted to, [-].
    theta_rounds : int
        Rounds in which theta is fitted too, 0 to keep it, [-].
    """
    layout = data.layout()
    straight = law.shape.straighten(data.readings)
    sample = theta_sample(straight.count, np.random.default_rng(seed)) if theta_rounds else np.array([], int)
    step = fleet_step(nothing_learnt(len(straight)), layout, prior)
    place: GridPlace | None = None
    number = 0
    while True:
        progress.step(number, ROUNDS + 1, _("Learning wear rates from the fleet"))
        grid = integrate_rate(
            straight,
            step.prior,
            law,
            place,
            nodes=FITTING_NODES,
            span=FITTING_SPAN,
            passes=6 if place is None else 2,
        )
        place = grid.place
        messages = part_messages(grid.node_mean, grid.node_variance, step.prior, straight.count > 0)
        moved = 0.0
        if number < theta_rounds and sample.size:
            theta = fitted_theta(
                straight.take(sample), step.prior.take(sample), place.take(sample), law, prior.theta
            )
            moved = float(np.abs((theta.to_free() - law.theta.to_free()) / DIFFERENCE).max())
            law = law.with_theta(theta)
        before, step = step, fleet_step(messages, layout, prior)
        number += 1
        is_settled = (
            float(np.abs(step.prior.mean - before.prior.mean).max(initial=0.0)) < SETTLED
            and abs(step.tau - before.tau) < SETTLED * step.tau
            and moved < 0.1
        )
        if is_settled or number == ROUNDS:
            return Rounds(law, layout, straight, messages, step, grid)
