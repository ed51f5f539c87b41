"""In which order the bolts of a joint are tightened, and in which steps."""

import math
from gettext import gettext as _

from wearlog.fleet.problem import Problem, WearlogError

#: Patterns with more bolts do not occur on a drive line.
MOST_BOLTS = 12
#: Snug by hand comes first; then these shares of the final torque. Common practice, no source.
PASS_SHARES = (1 / 3, 2 / 3, 1.0)


def tightening_order(bolts: int) -> tuple[int, ...]:
    """Return which bolt of a circle comes first, second, ...: each about opposite the one before.

    Bolts are counted clockwise. Even counts go by opposite pairs, the pairs themselves in opposing order;
    odd counts step on by half the circle, rounded down.

    Parameters
    ----------
    bolts : int
        Number of bolts on the circle, 1 to 12, [-].

    Raises
    ------
    WearlogError
        If there are no bolts, or more than a joint of a drive line has.

    References
    ----------
    For 5 and 6 bolts: common practice, no source. For 4, 8 and 12 bolts the cross pattern of ASME PCC-1,
    "Guidelines for Pressure Boundary Bolted Flange Joint Assembly", from memory.

    Examples
    --------
    >>> tightening_order(5)
    (1, 3, 5, 2, 4)
    >>> tightening_order(6)
    (1, 4, 2, 5, 3, 6)
    """
    if not 1 <= bolts <= MOST_BOLTS:
        raise WearlogError(
            Problem(
                _("A pattern of {n} bolts can’t be drawn.").format(n=bolts),
                _("number of bolts"),
                _("Give a number from 1 to {most}.").format(most=MOST_BOLTS),
            )
        )
    if bolts <= 2:
        return tuple(range(1, bolts + 1))
    if bolts % 2:
        step = (bolts - 1) // 2
        return tuple(n * step % bolts + 1 for n in range(bolts))
    half = bolts // 2
    return tuple(bolt for pair in tightening_order(half) for bolt in (pair, pair + half))


def steps_by_place(bolts: int) -> tuple[int, ...]:
    """Return, clockwise round the circle, when each bolt's turn comes; the inverse of `tightening_order`.

    Parameters
    ----------
    bolts : int
        Number of bolts on the circle, 1 to 12, [-].

    Examples
    --------
    >>> steps_by_place(6)
    (1, 3, 5, 2, 4, 6)
    """
    order = tightening_order(bolts)
    return tuple(order.index(place) + 1 for place in range(1, bolts + 1))


def bolt_positions(bolts: int) -> tuple[tuple[float, float], ...]:
    """Return where the bolts of a circle of radius 1 lie: the first at the top, the others clockwise.

    Parameters
    ----------
    bolts : int
        Number of bolts on the circle, 1 to 12, [-].

    Returns
    -------
    positions : tuple of (float, float)
        To the right and downwards of the centre, as pictures count, [-].

    Examples
    --------
    >>> [(round(x, 9) + 0.0, round(y, 9) + 0.0) for x, y in bolt_positions(4)]
    [(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)]
    """
    tightening_order(bolts)
    turns = (2 * math.pi * n / bolts for n in range(bolts))
    return tuple((math.sin(turn), -math.cos(turn)) for turn in turns)


def pass_torques(final_nm: float) -> tuple[float, ...]:
    """Return the torque of each round of a pattern, after all bolts are snug: in three even steps.

    Parameters
    ----------
    final_nm : float
        Final torque, [N.m].

    Raises
    ------
    WearlogError
        If the torque is not positive.

    References
    ----------
    Snug first, then in two or three steps: common practice, no source.

    Examples
    --------
    >>> pass_torques(12.0)
    (4.0, 8.0, 12.0)
    """
    if not (math.isfinite(final_nm) and final_nm > 0.0):
        raise WearlogError(
            Problem(
                _("{value:g} N·m is no torque to tighten to.").format(value=final_nm),
                _("final torque"),
                _("Give a torque above 0 N·m."),
            )
        )
    return tuple(round(share * final_nm, 6) for share in PASS_SHARES)
