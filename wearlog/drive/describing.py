"""Every figure of one stage, worked out as far as what is known of it goes."""

import math
from gettext import gettext as _

from wearlog.drive import belt, chain, motion, slack, sprocket
from wearlog.drive.demands import refusal
from wearlog.drive.figures import (
    AdjusterPlace,
    LoopFigures,
    MotionFigures,
    SetupFigures,
    Target,
    WheelFigures,
)
from wearlog.drive.line import road_speed_at_rated, wheel_pull_at_rated
from wearlog.drive.remarks import remarks_on
from wearlog.drive.setup import (
    DriveSetup,
    Wheel,
    centre_for_pitches,
    centre_in_use,
    pitches_at,
    span_at,
    wheel_pitch_diameter,
    wraps_at,
)


def describe(setup: DriveSetup) -> SetupFigures:
    """Return every figure of a stage.

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
    >>> figures = describe(
    ...     DriveSetup(
    ...         drive=DriveKind.CHAIN, pitch_mm=12.7, driver_teeth=14, driven_teeth=42, links=116,
    ...         adjuster_front_mm=545.0, adjuster_rear_mm=575.0, pin_diameter_mm=4.51,
    ...         wheel_circumference_mm=1900.0,
    ...     )
    ... )
    >>> round(figures.loop.taut_centre_mm, 4), round(figures.loop.adjuster.share, 3), figures.loop.closing
    (555.9167, 0.364, (116, 118))
    >>> round(figures.motion.sliding_under_load_m_per_km, 4)
    0.2571
    """
    centre_mm = centre_in_use(setup)
    return SetupFigures(
        setup=setup,
        driver=_wheel(setup, Wheel.DRIVER, centre_mm),
        driven=_wheel(setup, Wheel.DRIVEN, centre_mm),
        loop=_loop(setup, centre_mm),
        motion=_motion(setup),
        target=_target(setup, centre_mm),
        remarks=remarks_on(setup),
    )


def span_frequency(setup: DriveSetup, tension_n: float) -> float:
    """Return the frequency at which the free belt span of a stage rings under a tension, [Hz].

    Parameters
    ----------
    setup : DriveSetup
        The stage; its belt's mass and something that gives the centre distance must be known.
    tension_n : float
        Static tension, [N].

    Raises
    ------
    WearlogError
        If the stage has a chain, or mass or span of the belt are not known.

    Examples
    --------
    >>> from wearlog.fleet.parts import DriveKind
    >>> stage = DriveSetup(
    ...     drive=DriveKind.BELT, pitch_mm=8.0, driver_teeth=34, driven_teeth=34,
    ...     centre_distance_mm=472.88, mass_kg_per_m=0.0735,
    ... )
    >>> round(span_frequency(stage, 59.1687), 3)
    30.0
    """
    if setup.is_chain:
        raise refusal(_("A chain has no span frequency to set."), _("Set its slack instead."))
    centre_mm = centre_in_use(setup)
    if setup.mass_kg_per_m is None or centre_mm is None:
        raise refusal(
            _("Without the belt’s mass per metre and its span a tension has no known frequency."),
            _("Weigh the belt, and enter the centre distance or the teeth of the belt."),
        )
    return belt.frequency_of_tension(tension_n, span_at(setup, centre_mm), setup.mass_kg_per_m)


def _wheel(setup: DriveSetup, wheel: Wheel, centre_mm: float | None) -> WheelFigures:
    teeth, pitch_mm = setup.teeth(wheel), setup.pitch_mm
    pitch_diameter_mm = wheel_pitch_diameter(setup, wheel)
    wrap_rad = None
    if centre_mm is not None:
        wrap_rad = wraps_at(setup, centre_mm)[0 if wheel is Wheel.DRIVER else 1]
    in_mesh = None if wrap_rad is None else teeth * wrap_rad / (2.0 * math.pi)
    contacts = None
    if setup.turn_mm is not None:
        contacts = motion.tooth_contacts_per_km(teeth, setup.driven_teeth, setup.turn_mm)
    if not setup.is_chain:
        outside_mm = None
        if setup.pitch_differential_mm is not None:
            outside_mm = belt.pulley_outside_diameter(pitch_mm, teeth, setup.pitch_differential_mm)
        return WheelFigures(
            teeth=teeth,
            pitch_diameter_mm=pitch_diameter_mm,
            tip_diameter_min_mm=outside_mm,
            tip_diameter_max_mm=outside_mm,
            wrap_rad=wrap_rad,
            teeth_in_mesh=in_mesh,
            contacts_per_km=contacts,
        )
    loaded = _sliding_on(setup, teeth)
    roller_mm = setup.roller_diameter_mm
    return WheelFigures(
        teeth=teeth,
        pitch_diameter_mm=pitch_diameter_mm,
        root_diameter_mm=None if roller_mm is None else sprocket.root_diameter(pitch_mm, teeth, roller_mm),
        caliper_diameter_mm=(
            None if roller_mm is None else sprocket.caliper_diameter(pitch_mm, teeth, roller_mm)
        ),
        over_pins_mm=None if roller_mm is None else sprocket.over_pin_measure(pitch_mm, teeth, roller_mm),
        tip_diameter_min_mm=(
            None if roller_mm is None else sprocket.tip_diameter_min(pitch_mm, teeth, roller_mm)
        ),
        tip_diameter_max_mm=(
            None if roller_mm is None else sprocket.tip_diameter_max(pitch_mm, teeth, roller_mm)
        ),
        wrap_rad=wrap_rad,
        teeth_in_mesh=in_mesh,
        chordal_variation=motion.chordal_variation(teeth),
        contacts_per_km=contacts,
        sliding_m_per_km=None if loaded is None else 2.0 * loaded,
        sliding_under_load_m_per_km=loaded,
    )


def _sliding_on(setup: DriveSetup, teeth: int) -> float | None:
    """Return how far each pin slides on the loaded side of one sprocket, [m/km]."""
    if setup.links is None or setup.turn_mm is None or setup.pin_diameter_mm is None:
        return None
    turns = motion.chain_turns_per_km(setup.driven_teeth, setup.links, setup.turn_mm)
    return 1e-3 * motion.sliding_per_pass(teeth, setup.pin_diameter_mm) * turns


def _loop(setup: DriveSetup, centre_mm: float | None) -> LoopFigures:
    front_mm, rear_mm, pitches = setup.adjuster_front_mm, setup.adjuster_rear_mm, setup.loop_pitches
    teeth = (setup.driver_teeth, setup.driven_teeth)
    wanted_mm = setup.centre_distance_mm
    closing: tuple[int, ...] = ()
    if front_mm is not None and rear_mm is not None:
        wanted_mm = 0.5 * (front_mm + rear_mm) if wanted_mm is None else wanted_mm
        closing = _closing_between(setup, front_mm, rear_mm)
    needed = handbook = taut_mm = taut_handbook_mm = adjuster = None
    if wanted_mm is not None:
        needed = pitches_at(setup, wanted_mm)
        # In pitches the approximation for a belt is that for a chain: both put arcs for the wraps.
        handbook = chain.handbook_chain_length(wanted_mm, setup.pitch_mm, *teeth)
    if pitches is not None:
        taut_mm = centre_for_pitches(setup, pitches)
        taut_handbook_mm = chain.handbook_centre_distance(pitches, setup.pitch_mm, *teeth)
        if front_mm is not None and rear_mm is not None:
            adjuster = AdjusterPlace(taut_mm - front_mm, rear_mm - taut_mm)
    return LoopFigures(
        needed_exact=needed,
        needed_handbook=handbook,
        to_order=None if needed is None else _whole(setup, needed),
        closing=closing,
        taut_centre_mm=taut_mm,
        taut_centre_handbook_mm=taut_handbook_mm,
        centre_distance_mm=centre_mm,
        span_mm=None if centre_mm is None else span_at(setup, centre_mm),
        adjuster=adjuster,
        is_closing=None if adjuster is None else min(adjuster.from_front_mm, adjuster.left_mm) >= 0.0,
        is_cranked_link_needed=None if setup.links is None else chain.is_cranked_link_needed(setup.links),
        slack_mm=_slack_of(setup),
    )


def _whole(setup: DriveSetup, pitches: float) -> int:
    return chain.links_to_fit(pitches) if setup.is_chain else math.ceil(pitches - 1e-9)


def _closing_between(setup: DriveSetup, front_mm: float, rear_mm: float) -> tuple[int, ...]:
    """Return the whole (for a chain: even) numbers of pitches that are taut between two centre distances."""
    first = _whole(setup, pitches_at(setup, front_mm))
    last = math.floor(pitches_at(setup, rear_mm) + 1e-9)
    return tuple(range(first, last + 1, 2 if setup.is_chain else 1))


def _slack_of(setup: DriveSetup) -> float | None:
    """Return the total movement that the chosen chain has at the entered centre distance, [mm]."""
    centre_mm = setup.centre_distance_mm
    if setup.links is None or centre_mm is None:
        return None
    excess_mm = (setup.links - pitches_at(setup, centre_mm)) * setup.pitch_mm
    if excess_mm < 0.0:
        return None
    return slack.total_movement_for_excess_length(excess_mm, span_at(setup, centre_mm))


def _motion(setup: DriveSetup) -> MotionFigures:
    speed = pull = turns = articulations = None
    if setup.rated_input_rpm is not None:
        speed = motion.chain_speed(setup.pitch_mm, setup.driver_teeth, setup.rated_input_rpm)
        if setup.rated_power_kw is not None:
            pull = motion.pull_of_power(setup.rated_power_kw, speed)
    if setup.loop_pitches is not None and setup.turn_mm is not None:
        turns = motion.chain_turns_per_km(setup.driven_teeth, setup.loop_pitches, setup.turn_mm)
        if setup.is_chain:
            articulations = motion.articulations_per_km(setup.driven_teeth, setup.loop_pitches, setup.turn_mm)
    loaded = None
    if setup.links is not None and setup.turn_mm is not None and setup.pin_diameter_mm is not None:
        loaded = motion.sliding_per_km(
            setup.driver_teeth, setup.driven_teeth, setup.links, setup.turn_mm, setup.pin_diameter_mm
        )
    return MotionFigures(
        ratio=setup.ratio,
        overall_ratio=setup.ratio * setup.ratio_behind,
        loop_speed_m_per_s=speed,
        road_speed_km_per_h=road_speed_at_rated(setup),
        pull_n=pull,
        wheel_pull_n=wheel_pull_at_rated(setup),
        turns_per_km=turns,
        articulations_per_km=articulations,
        sliding_m_per_km=None if loaded is None else 2.0 * loaded,
        sliding_under_load_m_per_km=loaded,
    )


def _target(setup: DriveSetup, centre_mm: float | None) -> Target:
    if setup.is_chain:
        if centre_mm is None:
            return Target()
        return Target(
            slack_mm=slack.handbook_slack(centre_mm),
            slack_shock_mm=slack.handbook_slack(centre_mm, is_shock_drive=True),
            source=_(
                "Renold Jeffrey chain catalogue p. 229: a level drive’s centre distance over 25, rough or "
                "reversing over 50; the vehicle maker’s figure goes first"
            ),
        )
    travel_mm = None
    if setup.belt_teeth is not None:
        travel_mm = belt.tensioning_travel(setup.belt_teeth * setup.pitch_mm)
    tension_n, frequency_hz, force_n = setup.tension_n, None, None
    span_mm = None if centre_mm is None else span_at(setup, centre_mm)
    deflection_mm = None if span_mm is None else belt.handbook_deflection(span_mm)
    if tension_n is not None and span_mm is not None and deflection_mm is not None:
        force_n = belt.deflection_force(tension_n, span_mm, deflection_mm)
        if setup.mass_kg_per_m is not None:
            frequency_hz = belt.frequency_of_tension(tension_n, span_mm, setup.mass_kg_per_m)
    return Target(
        tensioning_travel_mm=travel_mm,
        tension_n=tension_n,
        frequency_hz=frequency_hz,
        deflection_mm=deflection_mm,
        deflection_force_n=force_n,
        source=_(
            "tension as entered; travel: bs-wiki.de, worked timing-belt example (method of Roloff/Matek); "
            "deflection of 1/64 of the span: SDP/SI handbook D790 p. T-3"
        ),
    )
