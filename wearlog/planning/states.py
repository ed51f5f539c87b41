"""The state of a part from its forecast."""

from dataclasses import dataclass

from wearlog.fleet.state import State


@dataclass(frozen=True, slots=True)
class Policy:
    """What the workshop agreed on.

    Attributes
    ----------
    caution_level
        Chance of being past the limit at which a part is to be replaced, [-].
    window_days
        Tasks that fall within so many days of the earliest one come in together, [d].
    plan_ahead_days
        A part due within its lead time and so many days more is to be planned, [d].
    horizon_days
        What lies further ahead is not listed unless asked for, [d].
    """

    caution_level: float = 0.10
    window_days: int = 14
    plan_ahead_days: int = 28
    horizon_days: int = 730


def state_of(
    past_probability: float,
    allowance: float,
    plan_share: float,
    days_to_due: float,
    lead_time_days: int,
    has_reading: bool,
    policy: Policy,
    can_be_measured: bool = False,
) -> State:
    """Return the state of a part.

    Parameters
    ----------
    past_probability : float
        Chance that the limit is passed already, [-].
    allowance : float
        Median share of the wear allowance used today, [-].
    plan_share : float
        Share at which to plan ahead, [-].
    days_to_due : float
        Days until the chance of being past the limit reaches the caution level, [d].
    lead_time_days : int
        How long a new part takes to come, [d].
    has_reading : bool
        Whether the part was ever measured, [-].
    policy : Policy
        What the workshop agreed on.
    can_be_measured : bool
        Whether a reading now would tell more than is known, [-]. A part is then not due while it is more
        likely than not that a reading would show less wear than the share at which to plan ahead.

    Examples
    --------
    >>> state_of(0.02, 0.8, 0.75, 60.0, 14, True, Policy()).value
    'plan'
    >>> [state_of(0.12, 0.5, 0.75, 0.0, 14, True, Policy(), told).value for told in (True, False)]
    ['plan', 'due']
    """
    if not has_reading:
        return State.NO_READING
    if past_probability >= 0.5:
        return State.PAST_LIMIT
    if days_to_due <= 0.0:
        return State.PLAN if can_be_measured and allowance < plan_share else State.DUE
    if allowance >= plan_share or days_to_due <= lead_time_days + policy.plan_ahead_days:
        return State.PLAN
    return State.WITHIN_LIMIT


def state_of_grade(grade: float) -> State:
    """Return the state that a condition grade by eye stands for; common practice, no source.

    Parameters
    ----------
    grade : float
        0 as new, 1 polished, 2 visible wear, 3 change, [-].
    """
    if grade >= 3.0:
        return State.PAST_LIMIT
    return State.PLAN if grade >= 2.0 else State.WITHIN_LIMIT
