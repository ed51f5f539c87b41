"""Stages in series from the motor to the road wheel: one drive line."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from gettext import gettext as _

from wearlog.drive import motion
from wearlog.drive.demands import refusal
from wearlog.drive.setup import DriveSetup


@dataclass(frozen=True, slots=True)
class DriveLine:
    """All stages from the motor to the road wheel, as one.

    Attributes
    ----------
    ratio
        Product of the ratios, [-].
    road_speed_km_per_h
        Road speed at the motor's rated speed.
    wheel_pull_n
        Pull at the road wheel at rated power and speed, losses left out.
    """

    ratio: float
    road_speed_km_per_h: float | None
    wheel_pull_n: float | None


def in_series(stages: Sequence[DriveSetup]) -> tuple[DriveSetup, ...]:
    """Return the stages with what each passes on to the next.

    The last stage's wheel circumference counts for all; each gets the ratio behind it, and the first stage's
    rated speed and power, if known, run through the ratios.

    Parameters
    ----------
    stages : sequence of DriveSetup
        From the motor to the road wheel.

    Raises
    ------
    WearlogError
        If there is no stage.

    Examples
    --------
    >>> from wearlog.fleet.parts import DriveKind
    >>> primary = DriveSetup(
    ...     drive=DriveKind.CHAIN, pitch_mm=9.525, driver_teeth=15, driven_teeth=45, rated_input_rpm=4500.0
    ... )
    >>> final = DriveSetup(
    ...     drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42,
    ...     wheel_circumference_mm=1900.0,
    ... )
    >>> stages = in_series([primary, final])
    >>> [(stage.ratio_behind, stage.rated_input_rpm, round(stage.turn_mm, 1)) for stage in stages]
    [(3.0, 4500.0, 633.3), (1.0, 1500.0, 1900.0)]
    """
    if not stages:
        raise refusal(_("There is no stage in this drive line."), _("Add the stages from motor to wheel."))
    ratios = [stage.ratio for stage in stages]
    placed = []
    for n, stage in enumerate(stages):
        ahead = math.prod(ratios[:n])
        speed_rpm = stages[0].rated_input_rpm
        placed.append(
            replace(
                stage,
                wheel_circumference_mm=stages[-1].wheel_circumference_mm,
                ratio_behind=math.prod(ratios[n + 1 :], start=1.0),
                rated_input_rpm=stage.rated_input_rpm if speed_rpm is None else speed_rpm / ahead,
                rated_power_kw=(
                    stage.rated_power_kw if stages[0].rated_power_kw is None else stages[0].rated_power_kw
                ),
            )
        )
    return tuple(placed)


def overall(stages: Sequence[DriveSetup]) -> DriveLine:
    """Return overall ratio, road speed and pull at the wheel of stages in series.

    Parameters
    ----------
    stages : sequence of DriveSetup
        From the motor to the road wheel.

    Raises
    ------
    WearlogError
        If there is no stage.

    Examples
    --------
    >>> from wearlog.fleet.parts import DriveKind
    >>> final = DriveSetup(
    ...     drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42,
    ...     wheel_circumference_mm=1900.0, rated_input_rpm=1500.0, rated_power_kw=3.0,
    ... )
    >>> whole = overall([final])
    >>> whole.ratio, round(whole.road_speed_km_per_h, 1), round(whole.wheel_pull_n, 1)
    (3.0, 57.0, 189.5)
    """
    first = in_series(stages)[0]
    total = first.ratio * first.ratio_behind
    speed = road_speed_at_rated(first)
    return DriveLine(total, speed, wheel_pull_at_rated(first))


def road_speed_at_rated(setup: DriveSetup) -> float | None:
    """Return the road speed at the rated speed of the stage's driver, [km/h]; None if not known.

    Parameters
    ----------
    setup : DriveSetup
        The stage.
    """
    if setup.rated_input_rpm is None or setup.wheel_circumference_mm is None:
        return None
    total = setup.ratio * setup.ratio_behind
    return motion.road_speed(setup.rated_input_rpm, total, setup.wheel_circumference_mm)


def wheel_pull_at_rated(setup: DriveSetup) -> float | None:
    """Return the pull at the road wheel at rated power and speed, losses left out, [N]; None if not known.

    Parameters
    ----------
    setup : DriveSetup
        The stage.
    """
    speed_km_per_h = road_speed_at_rated(setup)
    if speed_km_per_h is None or setup.rated_power_kw is None:
        return None
    return motion.pull_of_power(setup.rated_power_kw, speed_km_per_h / 3.6)
