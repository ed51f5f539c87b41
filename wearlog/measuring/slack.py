"""Slack and adjuster readings: the least and the greatest over the turn, and what was measured."""

from collections.abc import Sequence
from dataclasses import dataclass
from gettext import gettext as _

from wearlog.drive.demands import demand_not_negative, refusal
from wearlog.fleet.reading import Spot


@dataclass(frozen=True, slots=True)
class OverTheTurn:
    """What was read while the wheel was turned, [mm].

    Attributes
    ----------
    least, greatest
        At the tightest and at the slackest spot.
    governing_spot
        Index of the tightest spot: it is the one that slack is set at.
    """

    least: float
    greatest: float
    governing_spot: int


def over_the_turn(spots: Sequence[Spot]) -> OverTheTurn:
    """Return the least and the greatest slack over a turn of the wheel.

    Parameters
    ----------
    spots : sequence of Spot
        Slack at several positions of the wheel, [mm].

    Raises
    ------
    WearlogError
        If there is no spot or a slack is negative.

    References
    ----------
    Kawasaki ZX-10R, Triumph T509 and others: set at the tightest spot.

    Examples
    --------
    >>> over_the_turn([Spot(typed="35", value=35.0), Spot(typed="28", value=28.0)])
    OverTheTurn(least=28.0, greatest=35.0, governing_spot=1)
    """
    if not spots:
        raise refusal(_("No spot was entered."), _("Enter the slack at the tightest spot at least."))
    for spot in spots:
        demand_not_negative(spot.value, _("slack"), "mm")
    values = [spot.value for spot in spots]
    tightest = min(range(len(values)), key=values.__getitem__)
    return OverTheTurn(values[tightest], max(values), tightest)


def demand_definition(definition: str) -> None:
    """Refuse a slack reading of which nobody knows what it is.

    Parameters
    ----------
    definition : str
        Run, place, total or one-way or gap, stance.

    Raises
    ------
    WearlogError
        If it is empty.
    """
    if not definition.strip():
        raise refusal(
            _("Slack without its definition cannot be compared with anything."),
            _("Say with the stage which run, which place, total, one-way or gap, and on which stand."),
        )
