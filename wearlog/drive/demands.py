"""What the equations of this room demand of their input, said in sentences."""

import math
from gettext import gettext as _

from wearlog.fleet.problem import Problem, WearlogError


def refusal(what: str, todo: str = "") -> WearlogError:
    """Return the error that says what was wrong and what to do about it.

    Parameters
    ----------
    what : str
        What was wrong, a full sentence.
    todo : str
        What to do about it, a full sentence.
    """
    return WearlogError(Problem(what, "", todo))


def demand_positive(value: float, name: str, unit: str = "") -> None:
    """Refuse zero, negative and undefined values.

    Parameters
    ----------
    value : float
        What was given, [`unit`].
    name : str
        What it is, in the words of the trade, translated.
    unit : str
        Its unit, for the sentence.

    Raises
    ------
    WearlogError
        If `value` is not a finite number above zero.
    """
    if not (math.isfinite(value) and value > 0):
        raise refusal(
            _("The {name} must be above zero; {value} was given.").format(
                name=name, value=f"{value:g} {unit}".strip()
            )
        )


def demand_not_negative(value: float, name: str, unit: str = "") -> None:
    """Refuse negative and undefined values.

    Parameters
    ----------
    value : float
        What was given, [`unit`].
    name : str
        What it is, in the words of the trade, translated.
    unit : str
        Its unit, for the sentence.

    Raises
    ------
    WearlogError
        If `value` is not a finite number of at least zero.
    """
    if not (math.isfinite(value) and value >= 0):
        raise refusal(
            _("The {name} cannot be negative; {value} was given.").format(
                name=name, value=f"{value:g} {unit}".strip()
            )
        )


def demand_teeth(teeth: int) -> None:
    """Refuse a sprocket or pulley that cannot be.

    Parameters
    ----------
    teeth : int
        Number of teeth, [-].

    Raises
    ------
    WearlogError
        If there are fewer than three teeth: no polygon closes with less.
    """
    if teeth < 3:
        raise refusal(
            _("A sprocket with {teeth} teeth cannot be.").format(teeth=teeth),
            _("Check the number of teeth."),
        )


def demand_pitch(pitch_mm: float) -> None:
    """Refuse a pitch that is not above zero.

    Parameters
    ----------
    pitch_mm : float
        Pitch, [mm].

    Raises
    ------
    WearlogError
        If `pitch_mm` is not above zero.
    """
    demand_positive(pitch_mm, _("pitch"), "mm")
