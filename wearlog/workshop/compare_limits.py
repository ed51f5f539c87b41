"""Which limits a new chain meets on a stage."""

from collections.abc import Iterable

from wearlog.drive.figures import SetupFigures
from wearlog.drive.governing import Governing, governing_limit
from wearlog.fleet.fitting import Position
from wearlog.fleet.limit import Limit, limit_for
from wearlog.fleet.parts import PartType
from wearlog.fleet.reading import Measurand
from wearlog.fleet.vehicle import Stage, Vehicle
from wearlog.workshop.compare_snapshot import SetupSnapshot, StageSetup

#: Centre distances are not known better than this, [mm].
MEASURED_TO_MM = 0.1


def governing_of(
    snapshot: SetupSnapshot, one: StageSetup, figures: SetupFigures, run: PartType | None = None
) -> Governing | None:
    """Return the limits of a new chain on a stage."""
    setup, place = figures.setup, figures.loop.adjuster
    part = one.part(Position.RUN)
    part_type = run if run is not None else None if part is None else part.part_type
    if not setup.is_chain or part_type is None:
        return None
    is_closing = closes(figures)
    return governing_limit(
        limit_of_type(snapshot.limits, snapshot.vehicle, one.stage, Measurand.CHAIN_ELONGATION, part_type),
        large_sprocket_teeth=max(setup.driver_teeth, setup.driven_teeth),
        small_sprocket_teeth=min(setup.driver_teeth, setup.driven_teeth),
        pitch_mm=setup.pitch_mm,
        pitches=setup.links,
        adjuster_left_mm=max(place.left_mm, 0.0) if place is not None and is_closing else None,
        shortest_centre_mm=None if is_closing else setup.adjuster_front_mm,
        longest_centre_mm=None if is_closing else setup.adjuster_rear_mm,
    )


def closes(figures: SetupFigures) -> bool:
    """Return whether chain or belt closes between the ends of the adjuster, as far as anybody can measure."""
    place = figures.loop.adjuster
    return place is None or min(place.from_front_mm, place.left_mm) >= -MEASURED_TO_MM


def limit_of_type(
    limits: Iterable[Limit], vehicle: Vehicle, stage: Stage, measurand: Measurand, part_type: PartType
) -> Limit | None:
    """Return the limit agreed on for a part of some type in a stage."""
    return limit_for(
        limits,
        measurand,
        part_type.wear_class,
        {name for name in (part_type.designation, part_type.chain) if name},
        vehicle.model,
        stage.name,
        vehicle.id,
    )
