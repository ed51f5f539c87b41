"""What is odd about a set-up, in words, each with where the rule comes from."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from gettext import gettext as _

from wearlog.drive.belt import tensioning_travel
from wearlog.drive.chain import is_cranked_link_needed
from wearlog.drive.loop import tangent_angle
from wearlog.drive.setup import (
    DriveSetup,
    Wheel,
    centre_for_pitches,
    centre_in_use,
    span_at,
    wheel_pitch_diameter,
    wraps_at,
)

#: Fewer teeth make a chain run roughly and wear fast. Common practice, no source.
LEAST_TEETH = 11
#: Belts: below this the load shears teeth; over this the span whips. ContiTech, troubleshooting, pp. 51-52.
LEAST_TEETH_IN_MESH = 6.0
MOST_SPAN_PER_SMALL_DIAMETER = 8.0
#: Chains: the longest centre distance in pitches.
MOST_CENTRE_PITCHES = 80.0
#: Entered and computed centre distances this close are the same, [mm].
SAME_CENTRE_MM = 1.0


class RemarkKind(StrEnum):
    """What a remark is about."""

    FEW_TEETH = "few teeth"
    FEW_IN_MESH = "few teeth in mesh"
    LONG_SPAN = "long span"
    LONG_CENTRES = "long centre distance"
    COMMON_FACTOR = "common factor"
    CRANKED_LINK = "cranked link"
    DOES_NOT_CLOSE = "does not close"
    CENTRE_DIFFERS = "centre distance differs"
    SHORT_ADJUSTER = "short adjuster"
    OUTSIDE_ADJUSTER = "outside the adjuster"
    NO_TENSION_TARGET = "no tension target"
    CLEARANCE = "clearance"
    GUARD = "guard"
    ALIGNMENT = "alignment"
    ROLLERS = "rollers"
    OLD_WHEELS = "old wheels"
    APPROVAL = "approval"
    NOISE = "noise"
    SPEED = "speed"
    LUBRICATION = "lubrication"
    HANDLING = "handling"
    ISOLATION = "isolation"


@dataclass(frozen=True, slots=True)
class Remark:
    """Something to know about a set-up or a change, in words.

    Attributes
    ----------
    kind
        What it is about.
    text
        One or two full sentences.
    source
        Where the rule comes from.
    """

    kind: RemarkKind
    text: str
    source: str


def remarks_on(setup: DriveSetup) -> tuple[Remark, ...]:
    """Return what is odd about a set-up, what keeps it from running first.

    Parameters
    ----------
    setup : DriveSetup
        The stage.

    Raises
    ------
    WearlogError
        If the wheels would touch, or the chain or belt is too short to go round them.

    Examples
    --------
    >>> from wearlog.fleet.parts import DriveKind
    >>> stage = DriveSetup(drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=10, driven_teeth=41, links=115)
    >>> [remark.kind.value for remark in remarks_on(stage)]
    ['cranked link', 'few teeth', 'common factor']
    """
    return (*_on_closing(setup), *_on_wheels(setup), *_on_adjuster(setup), *_on_distance(setup))


def _on_closing(setup: DriveSetup) -> Iterator[Remark]:
    pitches = setup.loop_pitches
    if pitches is None:
        return
    geometry = _("geometry of this drive, exact length")
    taut_mm = centre_for_pitches(setup, pitches)
    front_mm, rear_mm = setup.adjuster_front_mm, setup.adjuster_rear_mm
    what = _("{n} links") if setup.is_chain else _("{n} belt teeth")
    what = what.format(n=pitches)
    if front_mm is not None and taut_mm < front_mm:
        text = _(
            "{what} are too short: taut at {needs:.1f} mm, while the adjuster’s front end is {end:.1f} mm."
        )
        yield Remark(RemarkKind.DOES_NOT_CLOSE, text.format(what=what, needs=taut_mm, end=front_mm), geometry)
    elif rear_mm is not None and taut_mm > rear_mm:
        text = _(
            "{what} are too long: taut at {needs:.1f} mm, while the adjuster’s rear end is {end:.1f} mm."
        )
        yield Remark(RemarkKind.DOES_NOT_CLOSE, text.format(what=what, needs=taut_mm, end=rear_mm), geometry)
    entered_mm = setup.centre_distance_mm
    if (
        entered_mm is not None
        and (front_mm is None or rear_mm is None)
        and abs(entered_mm - taut_mm) > SAME_CENTRE_MM
    ):
        text = _("{what} are taut at {needs:.1f} mm; {entered:.1f} mm are entered between centres.")
        yield Remark(
            RemarkKind.CENTRE_DIFFERS, text.format(what=what, needs=taut_mm, entered=entered_mm), geometry
        )
    if setup.is_chain and is_cranked_link_needed(pitches):
        yield Remark(
            RemarkKind.CRANKED_LINK,
            _(
                "{n} links close only with a cranked link, which is weaker. Choose an even number; on "
                "motorcycles never fit one."
            ).format(n=pitches),
            _(
                "machinecalc.pages.dev, chain length; Renold, docslib 6774008. For motorcycles: common "
                "practice, no source"
            ),
        )


def _on_wheels(setup: DriveSetup) -> Iterator[Remark]:
    fewest = min(setup.driver_teeth, setup.driven_teeth)
    if setup.is_chain and fewest < LEAST_TEETH:
        yield Remark(
            RemarkKind.FEW_TEETH,
            _(
                "A sprocket with {teeth} teeth makes the chain surge and bend sharply; {least} or more wear "
                "slower."
            ).format(teeth=fewest, least=LEAST_TEETH),
            _("limit: common practice, no source; surge: machinecalcs.com, sprocket pitch diameter"),
        )
    pitches = setup.loop_pitches
    for wheel in Wheel:
        teeth = setup.teeth(wheel)
        common = 1 if pitches is None else math.gcd(teeth, pitches)
        if common > 1:
            text = (
                _("{teeth} teeth and {n} links share the factor {common}: the same ones keep meeting.")
                if setup.is_chain
                else _("{teeth} and {n} teeth share the factor {common}: the same ones keep meeting.")
            )
            yield Remark(
                RemarkKind.COMMON_FACTOR,
                text.format(teeth=teeth, n=pitches, common=common),
                _("fangpowermotor.com and valuetrackparts.com: no common factor spreads wear"),
            )


def _on_adjuster(setup: DriveSetup) -> Iterator[Remark]:
    front_mm, rear_mm = setup.adjuster_front_mm, setup.adjuster_rear_mm
    if front_mm is None or rear_mm is None:
        return
    travel_mm = rear_mm - front_mm
    entered_mm = setup.centre_distance_mm
    if entered_mm is not None and not front_mm <= entered_mm <= rear_mm:
        yield Remark(
            RemarkKind.OUTSIDE_ADJUSTER,
            _(
                "{entered:.1f} mm between centres lie outside the adjuster’s {front:.1f} to {rear:.1f} mm."
            ).format(entered=entered_mm, front=front_mm, rear=rear_mm),
            _("the figures entered"),
        )
    pitches = setup.loop_pitches
    if setup.is_chain:
        radius_1, radius_2 = (0.5 * wheel_pitch_diameter(setup, wheel) for wheel in Wheel)
        needs_mm = setup.pitch_mm / math.cos(tangent_angle(rear_mm, radius_1, radius_2))
        if travel_mm < needs_mm:
            yield Remark(
                RemarkKind.SHORT_ADJUSTER,
                _(
                    "The adjuster travels {has:.1f} mm; to take out a pair of links later it needs "
                    "{needs:.1f} mm."
                ).format(has=travel_mm, needs=needs_mm),
                _("Diamond Chain Company, FAQ: a take-up must allow two pitches to be taken out"),
            )
    elif pitches is not None:
        left_mm = rear_mm - centre_for_pitches(setup, pitches)
        needs_mm = tensioning_travel(pitches * setup.pitch_mm)
        if 0.0 <= left_mm < needs_mm:
            yield Remark(
                RemarkKind.SHORT_ADJUSTER,
                _("{has:.1f} mm are left behind the taut belt; leave {needs:.1f} mm for tensioning.").format(
                    has=left_mm, needs=needs_mm
                ),
                _("bs-wiki.de, worked timing-belt example (method of Roloff/Matek): 0.005 of the length"),
            )


def _on_distance(setup: DriveSetup) -> Iterator[Remark]:
    centre_mm = centre_in_use(setup)
    if not setup.is_chain and setup.tension_n is None:
        yield Remark(
            RemarkKind.NO_TENSION_TARGET,
            _(
                "No belt tension is entered. There is no rule that gives one: enter the vehicle’s or the "
                "belt maker’s."
            ),
            _("common practice, no source"),
        )
    if centre_mm is None:
        return
    if setup.is_chain:
        if centre_mm > MOST_CENTRE_PITCHES * setup.pitch_mm:
            yield Remark(
                RemarkKind.LONG_CENTRES,
                _("{centre:.0f} pitches between centres are long; up to {most:.0f} are advised.").format(
                    centre=centre_mm / setup.pitch_mm, most=MOST_CENTRE_PITCHES
                ),
                _("mechanical-design-handbook.blogspot.com, chain drives: 30 to 50 pitches, at most 80"),
            )
        return
    source = _("ContiTech, troubleshooting, pp. 51-52")
    for wheel, wrap in zip(Wheel, wraps_at(setup, centre_mm), strict=True):
        in_mesh = setup.teeth(wheel) * wrap / (2.0 * math.pi)
        if in_mesh < LEAST_TEETH_IN_MESH:
            text = _("Only {n:.1f} of {teeth} teeth are in mesh; below {least:.0f} the belt loses teeth.")
            text = text.format(n=in_mesh, teeth=setup.teeth(wheel), least=LEAST_TEETH_IN_MESH)
            yield Remark(RemarkKind.FEW_IN_MESH, text, source)
    span_mm = span_at(setup, centre_mm)
    small_mm = min(wheel_pitch_diameter(setup, wheel) for wheel in Wheel)
    if span_mm > MOST_SPAN_PER_SMALL_DIAMETER * small_mm:
        yield Remark(
            RemarkKind.LONG_SPAN,
            _(
                "The span of {span:.0f} mm is {times:.1f} times the small pulley; over {most:.0f} it whips."
            ).format(span=span_mm, times=span_mm / small_mm, most=MOST_SPAN_PER_SMALL_DIAMETER),
            source,
        )
