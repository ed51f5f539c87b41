"""Which limit comes first on a chain drive, and why."""

import math
from dataclasses import dataclass
from enum import StrEnum
from gettext import gettext as _

from wearlog.drive.chain import centre_distance
from wearlog.drive.demands import demand_not_negative, demand_teeth
from wearlog.drive.slack import length_per_axle_travel
from wearlog.fleet.limit import Limit


class LimitKind(StrEnum):
    """What ends the life of a chain."""

    CLASS = "service limit"
    TEETH = "large sprocket"
    ADJUSTER = "adjuster"
    CLOSING = "chain length"


@dataclass(frozen=True, slots=True)
class ReachedLimit:
    """One limit and the elongation at which it is reached.

    Attributes
    ----------
    kind
        Which limit.
    elongation
        At which elongation it is reached, [-].
    why
        What happens there, a full sentence.
    source
        Where the figure comes from.
    """

    kind: LimitKind
    elongation: float
    why: str
    source: str


@dataclass(frozen=True, slots=True)
class Governing:
    """All limits of a drive, the tightest first.

    Attributes
    ----------
    limits
        In order of elongation; those that cannot be known are left out.
    unknown
        What could not be judged, and what is missing, in sentences.
    """

    limits: tuple[ReachedLimit, ...]
    unknown: tuple[str, ...] = ()

    @property
    def governing(self) -> ReachedLimit | None:
        """The limit that comes first; None if none is known."""
        return self.limits[0] if self.limits else None

    @property
    def why(self) -> str:
        """Why that one comes first, in a sentence."""
        return self.limits[0].why if self.limits else _("No limit is known for this chain.")


def elongation_limit_of_teeth(large_sprocket_teeth: int) -> float:
    """Return the elongation at which a chain climbs out of a large sprocket, [-].

    Parameters
    ----------
    large_sprocket_teeth : int
        Teeth of the larger sprocket, [-].

    Notes
    -----
    200/z in percent. A German teaching text has 150/z; with the smallest tip diameter of ISO 606 the same
    geometry gives about 118/z.

    References
    ----------
    Diamond Chain Company, FAQ, how wear is measured.

    Examples
    --------
    >>> elongation_limit_of_teeth(80)
    0.025
    """
    demand_teeth(large_sprocket_teeth)
    return 2.0 / large_sprocket_teeth


def elongation_at_adjuster_end(
    adjuster_left_mm: float,
    elongation_now: float,
    pitches: int,
    pitch_mm: float,
    teeth_1: int,
    teeth_2: int,
) -> float:
    """Return the elongation at which the adjuster runs out, [-].

    Parameters
    ----------
    adjuster_left_mm : float
        Axle travel still left, [mm].
    elongation_now : float
        Elongation at which so much is left, [-].
    pitches : int
        Number of pitches of the chain, [-].
    pitch_mm : float
        Nominal pitch, [mm].
    teeth_1, teeth_2 : int
        Numbers of teeth, [-].

    Notes
    -----
    The chain is taken not to climb the teeth, which eats the travel soonest.

    Examples
    --------
    >>> round(elongation_at_adjuster_end(7.404, 0.002, 116, 12.7, 14, 42), 4)
    0.012
    """
    demand_not_negative(adjuster_left_mm, _("adjuster travel left"), "mm")
    new_mm = centre_distance(pitches, pitch_mm, teeth_1, teeth_2)
    travel_per_elongation = pitches * pitch_mm / length_per_axle_travel(new_mm, pitch_mm, teeth_1, teeth_2)
    return elongation_now + adjuster_left_mm / travel_per_elongation


def governing_limit(
    limit: Limit | None,
    *,
    large_sprocket_teeth: int | None = None,
    small_sprocket_teeth: int | None = None,
    pitch_mm: float | None = None,
    pitches: int | None = None,
    adjuster_left_mm: float | None = None,
    elongation_now: float = 0.0,
    shortest_centre_mm: float | None = None,
    longest_centre_mm: float | None = None,
) -> Governing:
    """Return all elongation limits of a chain drive, the one that governs first.

    Parameters
    ----------
    limit : Limit or None
        The elongation limit that applies to the chain, [-].
    large_sprocket_teeth : int or None
        Teeth of the larger sprocket, [-].
    small_sprocket_teeth : int or None
        Teeth of the smaller sprocket, [-].
    pitch_mm : float or None
        Nominal chain pitch, [mm].
    pitches : int or None
        Number of pitches of the chain, [-].
    adjuster_left_mm : float or None
        Axle travel still left, [mm].
    elongation_now : float
        Elongation at which so much is left, [-].
    shortest_centre_mm, longest_centre_mm : float or None
        Centre distance with the adjuster at its front and at its rear end, [mm].

    Examples
    --------
    >>> from wearlog.fleet.parts import WearClass
    >>> from wearlog.fleet.reading import Measurand
    >>> sealed = WearClass.SEALED_MOTORCYCLE_CHAIN
    >>> own = Limit(measurand=Measurand.CHAIN_ELONGATION, wear_class=sealed, service_limit=0.03, source="own")
    >>> governing_limit(own, large_sprocket_teeth=80).governing.kind
    <LimitKind.TEETH: 'large sprocket'>
    """
    limits: list[ReachedLimit] = []
    unknown: list[str] = []
    if limit is not None:
        why = _("The service limit of this chain is {limit:.2f} %.").format(limit=100 * limit.service_limit)
        limits.append(ReachedLimit(LimitKind.CLASS, limit.service_limit, why, limit.source))
    else:
        unknown.append(_("No service limit is entered for this kind of chain."))
    if large_sprocket_teeth is not None:
        at = elongation_limit_of_teeth(large_sprocket_teeth)
        why = _("At {limit:.2f} % the chain climbs out of the {teeth} teeth of the larger sprocket.").format(
            limit=100 * at, teeth=large_sprocket_teeth
        )
        source = _("200/z %: Diamond Chain Company, FAQ, how wear is measured")
        limits.append(ReachedLimit(LimitKind.TEETH, at, why, source))
    else:
        unknown.append(_("The teeth of the larger sprocket are not known."))
    if pitch_mm and pitches and small_sprocket_teeth and large_sprocket_teeth:
        drive = (pitches, pitch_mm, small_sprocket_teeth, large_sprocket_teeth)
        limits += _of_adjuster(adjuster_left_mm, elongation_now, drive)
        limits += _of_closing(shortest_centre_mm, longest_centre_mm, drive)
    if adjuster_left_mm is None:
        unknown.append(_("How much adjuster travel is left is not known."))
    limits.sort(key=lambda reached: reached.elongation)
    return Governing(tuple(limits), tuple(unknown))


def _of_adjuster(
    adjuster_left_mm: float | None, elongation_now: float, drive: tuple[int, float, int, int]
) -> list[ReachedLimit]:
    if adjuster_left_mm is None:
        return []
    at = elongation_at_adjuster_end(adjuster_left_mm, elongation_now, *drive)
    why = _("At {limit:.2f} % the adjuster is at its end; {left:.1f} mm of it are left now.").format(
        limit=100 * at, left=adjuster_left_mm
    )
    return [
        ReachedLimit(LimitKind.ADJUSTER, at, why, _("geometry of this drive, chain not climbing the teeth"))
    ]


def _of_closing(
    shortest_mm: float | None, longest_mm: float | None, drive: tuple[int, float, int, int]
) -> list[ReachedLimit]:
    """Return the limit that the number of links sets, where the ends of the adjuster are known."""
    new_mm = centre_distance(*drive)
    source = _("geometry of this drive, exact chain length")
    if shortest_mm is not None and new_mm < shortest_mm - 1e-6:
        # A chain that cannot be closed new might be closed once it has stretched: it never gets there.
        why = _(
            "{pitches} pitches are too short: they close at {needs:.1f} mm, the shortest is {have:.1f} mm."
        ).format(pitches=drive[0], needs=new_mm, have=shortest_mm)
        return [ReachedLimit(LimitKind.CLOSING, -math.inf, why, source)]
    if longest_mm is None:
        return []
    per_mm = length_per_axle_travel(new_mm, drive[1], drive[2], drive[3])
    at = (longest_mm - new_mm) * per_mm / (drive[0] * drive[1])
    if at <= 0:
        why = _(
            "{pitches} pitches are too long: new they need {needs:.1f} mm, the longest is {have:.1f} mm."
        ).format(pitches=drive[0], needs=new_mm, have=longest_mm)
    else:
        why = _(
            "At {limit:.2f} % {pitches} pitches are too long even at the rear end of the adjuster."
        ).format(limit=100 * at, pitches=drive[0])
    return [ReachedLimit(LimitKind.CLOSING, at, why, source)]
