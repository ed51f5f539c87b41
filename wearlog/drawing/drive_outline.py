"""The outline of a drive stage in millimetres, seen from the side: wheels, loop, slack; no painting."""

import math
from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise

from wearlog.drive.figures import SetupFigures, WheelFigures
from wearlog.drive.setup import Wheel
from wearlog.drive.slack import excess_length_for_total_movement, sag_for_excess_length

#: A point in mm; x to the rear from the driver's axle, y downwards.
Point = tuple[float, float]

#: Where a wheel's tooth has its feet and its tip, in pitches from the middle of the tooth.
_FOOT, _TIP = 0.30, 0.11
#: Depth of teeth where only the pitch is known, in pitches.
_DEPTH = 0.3
#: Steps of an arc and of a sagging run.
_ARC_STEP_RAD, _RUN_STEPS = 0.06, 24


@dataclass(frozen=True, slots=True)
class WheelOutline:
    """One wheel: its axle, pitch circle, and the line round its teeth."""

    centre: Point
    pitch_radius_mm: float
    tip_radius_mm: float
    teeth: int
    rim: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class SlackOutline:
    """The slack run at its middle: straight line, sag at rest, and how far it can be moved by hand."""

    middle: Point
    outwards: Point
    sag_mm: float
    movement_mm: float


@dataclass(frozen=True, slots=True)
class StageOutline:
    """A whole stage.

    Attributes
    ----------
    loop
        The pitch line of chain or belt, closed; starts where the tight run leaves the driver.
    joints
        Where its joints or belt teeth lie on that line.
    tight_middle
        Middle of the run that pulls.
    slack
        Of a chain whose slack is known; a belt has none.
    """

    driver: WheelOutline
    driven: WheelOutline
    loop: tuple[Point, ...]
    joints: tuple[Point, ...]
    tight_middle: Point
    slack: SlackOutline | None
    is_chain: bool
    pitch_mm: float

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of it, [mm]."""
        wheels = (self.driver, self.driven)
        reach = 0.5 * self.pitch_mm
        xs = [x for x, _y in self.loop]
        ys = [y for _x, y in self.loop]
        return (
            min(min(xs) - reach, *(w.centre[0] - w.tip_radius_mm for w in wheels)),
            min(min(ys) - reach, *(w.centre[1] - w.tip_radius_mm for w in wheels)),
            max(max(xs) + reach, *(w.centre[0] + w.tip_radius_mm for w in wheels)),
            max(max(ys) + reach, *(w.centre[1] + w.tip_radius_mm for w in wheels)),
        )


def stage_outline(figures: SetupFigures) -> StageOutline | None:
    """Return the outline of a stage; None if nothing says how far its axles are apart.

    Parameters
    ----------
    figures : SetupFigures
        All figures of the stage.
    """
    centre_mm = figures.loop.centre_distance_mm
    if centre_mm is None:
        return None
    r1, r2 = (0.5 * wheel.pitch_diameter_mm for wheel in (figures.driver, figures.driven))
    # The outside tangent of two circles: its unit normal points up and to the smaller wheel.
    across = (r1 - r2) / centre_mm
    up = math.sqrt(max(1.0 - across * across, 0.0))
    slack = _slack(figures, centre_mm, across, up)
    leaves, meets = (r1 * across, -r1 * up), (centre_mm + r2 * across, -r2 * up)
    back = [(x, -y) for x, y in (leaves, meets)]
    sag_mm = 0.0 if slack is None else slack.sag_mm
    loop = [
        *_arc((0.0, 0.0), r1, math.atan2(-up, across), Wheel.DRIVER),
        *_run(back[0], back[1], (across, up), sag_mm),
        *_arc((centre_mm, 0.0), r2, math.atan2(up, across), Wheel.DRIVEN),
        leaves,
    ]
    joints = _joints(loop, figures)
    return StageOutline(
        driver=_wheel(figures, figures.driver, Wheel.DRIVER, (0.0, 0.0), joints),
        driven=_wheel(figures, figures.driven, Wheel.DRIVEN, (centre_mm, 0.0), joints),
        loop=tuple(loop),
        joints=joints,
        tight_middle=(0.5 * (leaves[0] + meets[0]), 0.5 * (leaves[1] + meets[1])),
        slack=slack,
        is_chain=figures.setup.is_chain,
        pitch_mm=figures.setup.pitch_mm,
    )


def _slack(figures: SetupFigures, centre_mm: float, across: float, up: float) -> SlackOutline | None:
    movement_mm, span_mm = figures.target.slack_mm, figures.loop.span_mm
    if movement_mm is None or span_mm is None or span_mm <= 0.0:
        return None
    r1, r2 = (0.5 * wheel.pitch_diameter_mm for wheel in (figures.driver, figures.driven))
    middle = (0.5 * (r1 * across + centre_mm + r2 * across), 0.5 * (r1 + r2) * up)
    sag_mm = sag_for_excess_length(excess_length_for_total_movement(movement_mm, span_mm), span_mm)
    return SlackOutline(middle, (across, up), sag_mm, movement_mm)


def _arc(centre: Point, radius: float, start_rad: float, which: Wheel) -> list[Point]:
    """Return where the loop lies on a wheel: over the front of the driver, over the rear of the other."""
    angle = 2.0 * abs(start_rad)
    # Both are walked against the clock as seen, y being downwards: from above to below, from below to above.
    turn = angle - 2.0 * math.pi if which is Wheel.DRIVER else -angle
    steps = max(2, math.ceil(abs(turn) / _ARC_STEP_RAD))
    angles = [start_rad + turn * n / steps for n in range(steps + 1)]
    return [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles]


def _run(start: Point, end: Point, outwards: Point, sag_mm: float) -> list[Point]:
    points = []
    for n in range(1, _RUN_STEPS):
        at = n / _RUN_STEPS
        sag = 4.0 * sag_mm * at * (1.0 - at)
        points.append(
            (
                start[0] + at * (end[0] - start[0]) + sag * outwards[0],
                start[1] + at * (end[1] - start[1]) + sag * outwards[1],
            )
        )
    return points


def _joints(loop: list[Point], figures: SetupFigures) -> tuple[Point, ...]:
    """Return points spread evenly along the loop, as many as it has joints."""
    lengths = [0.0]
    for before, after in pairwise(loop):
        lengths.append(lengths[-1] + math.dist(before, after))
    count = figures.setup.loop_pitches or round(lengths[-1] / figures.setup.pitch_mm)
    found = []
    for n in range(count):
        at = lengths[-1] * n / count
        i = min(max(bisect_right(lengths, at) - 1, 0), len(loop) - 2)
        step = lengths[i + 1] - lengths[i]
        share = (at - lengths[i]) / step if step > 0.0 else 0.0
        (x0, y0), (x1, y1) = loop[i], loop[i + 1]
        found.append((x0 + share * (x1 - x0), y0 + share * (y1 - y0)))
    return tuple(found)


def _wheel(
    figures: SetupFigures, wheel: WheelFigures, which: Wheel, centre: Point, joints: tuple[Point, ...]
) -> WheelOutline:
    radius = 0.5 * wheel.pitch_diameter_mm
    pitch = figures.setup.pitch_mm
    if figures.setup.is_chain:
        root = radius - _DEPTH * pitch if wheel.root_diameter_mm is None else 0.5 * wheel.root_diameter_mm
        tips = (wheel.tip_diameter_min_mm, wheel.tip_diameter_max_mm)
        tip = radius + _DEPTH * pitch
        if tips[0] is not None and tips[1] is not None:
            tip = 0.25 * (tips[0] + tips[1])
    else:
        tip = radius if wheel.tip_diameter_max_mm is None else 0.5 * wheel.tip_diameter_max_mm
        root = tip - _DEPTH * pitch
    gap_rad = _gap_rad(centre, which, joints)
    step = 2.0 * math.pi / wheel.teeth
    rim = [
        _at(centre, r, gap_rad + (tooth + 0.5 + shift) * step)
        for tooth in range(wheel.teeth)
        for r, shift in ((root, -_FOOT), (tip, -_TIP), (tip, _TIP), (root, _FOOT))
    ]
    return WheelOutline(centre, radius, max(tip, root), wheel.teeth, tuple(rim))


def _gap_rad(centre: Point, which: Wheel, joints: tuple[Point, ...]) -> float:
    """Return the angle of a gap between teeth: where a joint lies furthest from the other wheel."""
    if not joints:
        return 0.0
    outermost = min if which is Wheel.DRIVER else max
    x, y = outermost(joints, key=lambda joint: joint[0])
    return math.atan2(y - centre[1], x - centre[0])


def _at(centre: Point, radius: float, angle_rad: float) -> Point:
    return centre[0] + radius * math.cos(angle_rad), centre[1] + radius * math.sin(angle_rad)
