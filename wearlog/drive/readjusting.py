"""When slack, adjuster and belt tension must be seen to again, from how fast a chain lengthens."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from gettext import gettext as _

from wearlog.drive.demands import demand_not_negative, demand_positive, refusal
from wearlog.drive.setup import DriveSetup, centre_for_pitches, centre_in_use, span_at
from wearlog.drive.slack import (
    Bounds,
    axle_travel_for_elongation,
    axle_travel_for_links_removed,
    elongation_growth_for_slack,
)
from wearlog.drive.upkeep import UpkeepChange, rechecks_after_fitting
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.service import IntervalRule, Task
from wearlog.fleet.vehicle import VehicleKind


@dataclass(frozen=True, slots=True)
class PairRemoval:
    """When the adjuster is used up and only taking out a pair of links gives travel again.

    Attributes
    ----------
    due_at
        Elongation at the rear end of the adjuster, [-]: low if the chain does not climb the teeth.
    axle_forward_mm
        How far the axle comes forward by it.
    is_possible
        Whether the adjuster reaches so far forward; None if its front end is not known.
    is_after_limit
        Whether the chain is at its limit before, so that it is to be changed instead; None without a limit.
    text
        What to do, in words.
    warning
        What taking out links does not do.
    source
        Where the rule comes from.
    """

    due_at: Bounds
    axle_forward_mm: float
    is_possible: bool | None
    is_after_limit: bool | None
    text: str
    warning: str
    source: str


def distance_for_growth(growth: Bounds, rate_per_1000_km: float) -> Bounds:
    """Return the distance over which an elongation still to come is run, [km].

    Parameters
    ----------
    growth : Bounds
        Elongation still to come, [-].
    rate_per_1000_km : float
        Elongation rate, [1/1000 km]; 0.001 is 0.1 % on 1000 km.

    Returns
    -------
    Bounds
        Infinite for a chain that does not lengthen, [km].

    Examples
    --------
    >>> distance_for_growth(Bounds(0.001, 0.002), 0.001)
    Bounds(low=1000.0, high=2000.0)
    """
    demand_not_negative(rate_per_1000_km, _("elongation rate"), _("per 1000 km"))
    if rate_per_1000_km == 0.0:
        return Bounds(*(0.0 if end <= 0.0 else math.inf for end in (growth.low, growth.high)))
    return Bounds(1000.0 * growth.low / rate_per_1000_km, 1000.0 * growth.high / rate_per_1000_km)


def elongation_for_adjuster(setup: DriveSetup, adjuster_left_mm: float) -> Bounds:
    """Return the elongation still to come until so much adjuster travel is used up, [-].

    Parameters
    ----------
    setup : DriveSetup
        A chain stage with its number of links.
    adjuster_left_mm : float
        Axle travel still left, [mm].

    Returns
    -------
    Bounds
        Low if the chain does not climb the teeth, high if the whole loop grows alike, [-].

    Raises
    ------
    WearlogError
        If the stage has a belt, or the number of links is not known.

    Examples
    --------
    >>> stage = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42, links=116)
    >>> growth = elongation_for_adjuster(stage, 7.404)
    >>> round(growth.low, 4), round(growth.high, 4)
    (0.01, 0.0133)
    """
    demand_not_negative(adjuster_left_mm, _("adjuster travel left"), "mm")
    per_elongation = axle_travel_for_elongation(
        1.0, _links_of(setup), setup.pitch_mm, setup.driver_teeth, setup.driven_teeth
    )
    return Bounds(adjuster_left_mm / per_elongation.high, adjuster_left_mm / per_elongation.low)


def adjuster_run_out(setup: DriveSetup, adjuster_left_mm: float, rate_per_1000_km: float) -> Bounds:
    """Return the distance until the adjuster is at its rear end, [km].

    Parameters
    ----------
    setup : DriveSetup
        A chain stage with its number of links.
    adjuster_left_mm : float
        Axle travel still left, [mm].
    rate_per_1000_km : float
        Elongation rate, [1/1000 km].

    Raises
    ------
    WearlogError
        If the stage has a belt, or the number of links is not known.

    Examples
    --------
    >>> stage = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42, links=116)
    >>> ahead = adjuster_run_out(stage, 7.404, 0.001)
    >>> round(ahead.low), round(ahead.high)
    (10000, 13319)
    """
    return distance_for_growth(elongation_for_adjuster(setup, adjuster_left_mm), rate_per_1000_km)


def slack_run_out(
    setup: DriveSetup, movement_mm: float, adjust_at_mm: float, rate_per_1000_km: float
) -> Bounds:
    """Return the distance until slack has grown to where it is to be adjusted, [km].

    Parameters
    ----------
    setup : DriveSetup
        A chain stage with its number of links.
    movement_mm : float
        Total movement at mid-span now or as last set, [mm].
    adjust_at_mm : float
        Total movement at which to adjust, [mm].
    rate_per_1000_km : float
        Elongation rate, [1/1000 km].

    Raises
    ------
    WearlogError
        If the stage has a belt, its number of links is not known, or a slack is negative.

    Examples
    --------
    >>> stage = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42, links=116)
    >>> ahead = slack_run_out(stage, 25.0, 40.0, 0.001)
    >>> round(ahead.low), round(ahead.high)
    (597, 795)
    """
    links = _links_of(setup)
    centre_mm = centre_in_use(setup)
    span_mm = span_at(setup, centre_for_pitches(setup, links) if centre_mm is None else centre_mm)
    growth = elongation_growth_for_slack(movement_mm, adjust_at_mm, span_mm, links, setup.pitch_mm)
    return distance_for_growth(growth, rate_per_1000_km)


def pair_removal(
    setup: DriveSetup,
    adjuster_left_mm: float | None = None,
    elongation_now: float = 0.0,
    limit: float | None = None,
) -> PairRemoval:
    """Return when a pair of links would have to come out, and whether it may.

    Parameters
    ----------
    setup : DriveSetup
        A chain stage with its number of links.
    adjuster_left_mm : float or None
        Axle travel still left, [mm]; None works it out from the adjuster's rear end for a new chain.
    elongation_now : float
        Elongation at which so much is left, [-].
    limit : float or None
        Elongation limit of the chain, [-].

    Raises
    ------
    WearlogError
        If the stage has a belt, or neither the travel left nor the adjuster's rear end is known.

    Examples
    --------
    >>> stage = DriveSetup(
    ...     drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42, links=116,
    ...     adjuster_front_mm=545.0, adjuster_rear_mm=560.0,
    ... )
    >>> removal = pair_removal(stage, limit=0.015)
    >>> round(removal.axle_forward_mm, 2), removal.is_possible, removal.is_after_limit
    (12.77, True, False)
    """
    links = _links_of(setup)
    demand_not_negative(elongation_now, _("elongation"))
    if adjuster_left_mm is None:
        if setup.adjuster_rear_mm is None:
            raise refusal(
                _("How much adjuster travel is left is not known."),
                _("Enter the travel left, or the centre distance at the adjuster’s rear end."),
            )
        # A new chain that is too long for the adjuster has none left; it is told apart as not closing.
        adjuster_left_mm = max(setup.adjuster_rear_mm - centre_for_pitches(setup, links), 0.0)
        elongation_now = 0.0
    growth = elongation_for_adjuster(setup, adjuster_left_mm)
    due_at = Bounds(elongation_now + growth.low, elongation_now + growth.high)
    forward_mm = axle_travel_for_links_removed(
        2, links, setup.pitch_mm, setup.driver_teeth, setup.driven_teeth
    )
    front_mm, rear_mm = setup.adjuster_front_mm, setup.adjuster_rear_mm
    is_possible = None if front_mm is None or rear_mm is None else rear_mm - forward_mm >= front_mm
    is_after_limit = None if limit is None else due_at.low >= limit
    return PairRemoval(
        due_at=due_at,
        axle_forward_mm=forward_mm,
        is_possible=is_possible,
        is_after_limit=is_after_limit,
        text=_removal_text(due_at, forward_mm, is_possible, is_after_limit),
        warning=_(
            "Taking out links never mends a worn chain: its elongation and its limit stay what they are."
        ),
        source=_("travel: geometry of this drive; links of a worn-out chain: common practice, no source"),
    )


def _removal_text(
    due_at: Bounds, forward_mm: float, is_possible: bool | None, is_after_limit: bool | None
) -> str:
    at = 100.0 * due_at.low
    if is_after_limit:
        text = _(
            "The chain is at its limit before the adjuster ends at {at:.2f} %: change it, take none out."
        )
        return text.format(at=at)
    if is_possible is False:
        text = _(
            "At {at:.2f} % the adjuster ends; without two links the axle would stand {forward:.1f} mm "
            "further forward, which is past its front end: change the chain."
        )
        return text.format(at=at, forward=forward_mm)
    text = _(
        "At {at:.2f} % the adjuster ends; taking out two links brings the axle {forward:.1f} mm forward."
    )
    return text.format(at=at, forward=forward_mm)


def run_in_loss(fitted_n: float, settled_n: float) -> float:
    """Return the share of its tension that a belt lost while running in, [-]; negative if it gained.

    Parameters
    ----------
    fitted_n : float
        Static tension as fitted, [N].
    settled_n : float
        Static tension at the re-check, [N].

    Notes
    -----
    No share is published: it comes from a workshop's own re-checks.

    Examples
    --------
    >>> round(run_in_loss(400.0, 340.0), 3)
    0.15
    """
    demand_positive(fitted_n, _("belt tension as fitted"), "N")
    demand_positive(settled_n, _("belt tension at the re-check"), "N")
    return 1.0 - settled_n / fitted_n


def tension_to_fit(wanted_n: float, loss: float) -> float:
    """Return the tension to fit a belt with so that the wanted one is left after running in, [N].

    Parameters
    ----------
    wanted_n : float
        Tension wanted once the belt has settled, [N].
    loss : float
        Share that such belts lose while running in, [-].

    Raises
    ------
    WearlogError
        If the loss is not a share from 0 to below 1.

    References
    ----------
    Rohloff manual, belt drives, p. 67: one-time settling, fit slightly tighter.

    Examples
    --------
    >>> round(tension_to_fit(340.0, 0.15), 1)
    400.0
    """
    demand_positive(wanted_n, _("belt tension"), "N")
    if not 0.0 <= loss < 1.0:
        raise refusal(
            _("A run-in loss of {loss:.0f} % cannot be.").format(loss=100.0 * loss),
            _("Give a share from 0 to below 100 %."),
        )
    return wanted_n / (1.0 - loss)


def retension_due(
    rules: Iterable[IntervalRule], vehicle_kind: VehicleKind | None = None
) -> UpkeepChange | None:
    """Return when a belt is to be tensioned again after it was fitted; None if no rule says.

    Parameters
    ----------
    rules : iterable of IntervalRule
        The workshop's rules.
    vehicle_kind : VehicleKind or None
        Kind of the vehicle; None takes rules of any kind, the first of them.

    References
    ----------
    Victory 2007 Hammer owner's manual p. 87: a new belt after 500 miles.

    Examples
    --------
    >>> from wearlog.drive.defaults import default_intervals
    >>> retension_due(default_intervals(), VehicleKind.ELECTRIC_MOTORCYCLE).text
    'set the tension of the belt once after 800 km or 27 h'
    """
    due = rechecks_after_fitting(DriveKind.BELT, rules, vehicle_kind)
    return next((change for change in due if change.task is Task.TENSION_SET), None)


def _links_of(setup: DriveSetup) -> int:
    if not setup.is_chain:
        raise refusal(
            _("A belt does not lengthen as a chain does: elongation tells nothing of its adjuster."),
            _("Ask this of a chain stage; check the belt’s tension instead."),
        )
    if setup.links is None:
        raise refusal(_("The number of links is not known."), _("Enter the links of the chain."))
    return setup.links
