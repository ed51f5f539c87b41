"""What the invented workshop buys and measures with: part types, instruments, drive set-ups and models."""

from dataclasses import dataclass

from sample_fleet import geometry

SEALED = "sealed motorcycle chain"
OPEN = "open motorcycle chain"
PRIMARY = "primary roller chain"
DERAILLEUR = "derailleur cycle chain"
HUB_GEAR = "hub-gear cycle chain"
SPROCKET = "sprocket"
BELT = "toothed belt"
PULLEY = "pulley"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartType:
    """A part as it is ordered; lengths in mm, mass per length in kg/m, lead time in days."""

    name: str
    kind: str
    designation: str
    wear_class: str
    pitch_mm: float
    roller_mm: float | None = None
    inner_mm: float | None = None
    links: int | None = None
    joining: str = ""
    teeth: int | None = None
    chain: str = ""
    width_mm: float | None = None
    mass_kg_per_m: float | None = None
    lead_days: int = 7
    price: float = 0.0
    source: str = ""


#: Pitch, roller diameter and inner width, mm. 428 and 08B share the roller; 420 and the cycle chains do not.
CHAIN_SIZES: dict[str, tuple[float, float, float, str]] = {
    "420": (12.70, 7.77, 6.35, "ISO 10190, from memory"),
    "428": (12.70, 8.51, 7.85, "ISO 10190, from memory"),
    "520": (15.875, 10.16, 6.35, "ISO 10190, from memory"),
    "08B-1": (12.70, 8.51, 7.75, "ISO 606, from memory"),
    "1/2 x 3/32": (12.70, 7.75, 2.38, "ISO 9633, from memory"),
    "1/2 x 1/8": (12.70, 7.75, 3.30, "ISO 9633, from memory"),
}


def _chain(
    designation: str, wear_class: str, links: int, joining: str, lead_days: int, price: float
) -> PartType:
    pitch, roller, inner, source = CHAIN_SIZES[designation]
    seal = " sealed" if wear_class == SEALED else ""
    return PartType(
        name=f"Chain {designation}{seal} {links} links",
        kind="chain",
        designation=designation,
        wear_class=wear_class,
        pitch_mm=pitch,
        roller_mm=roller,
        inner_mm=inner,
        links=links,
        joining=joining,
        lead_days=lead_days,
        price=price,
        source=source,
    )


def _sprocket(designation: str, teeth: int, lead_days: int, price: float, note: str = "") -> PartType:
    pitch, roller, _, source = CHAIN_SIZES[designation]
    return PartType(
        name=f"Sprocket {designation} {teeth} t{note}",
        kind="sprocket",
        designation=designation,
        wear_class=SPROCKET,
        pitch_mm=pitch,
        roller_mm=roller,
        teeth=teeth,
        chain=designation,
        lead_days=lead_days,
        price=price,
        source=source,
    )


def _belt(
    profile: str, pitch: float, teeth: int, width: float, mass: float, lead_days: int, price: float
) -> PartType:
    return PartType(
        name=f"Belt {profile} {teeth} t {width:g} mm",
        kind="belt",
        designation=profile,
        wear_class=BELT,
        pitch_mm=pitch,
        teeth=teeth,
        width_mm=width,
        mass_kg_per_m=mass,
        lead_days=lead_days,
        price=price,
        source="weighed in the workshop",
    )


def _pulley(profile: str, pitch: float, teeth: int, width: float, lead_days: int, price: float) -> PartType:
    return PartType(
        name=f"Pulley {profile} {teeth} t",
        kind="pulley",
        designation=profile,
        wear_class=PULLEY,
        pitch_mm=pitch,
        teeth=teeth,
        chain=profile,
        width_mm=width,
        lead_days=lead_days,
        price=price,
        source="ISO 13050, from memory" if profile.startswith("H") else "common practice, no source",
    )


PART_TYPES: tuple[PartType, ...] = (
    _chain("428", SEALED, 118, "rivet", 10, 74.0),
    _chain("520", SEALED, 110, "rivet", 10, 96.0),
    _chain("520", OPEN, 112, "spring clip", 7, 48.0),
    _chain("428", OPEN, 126, "spring clip", 7, 34.0),
    _chain("420", OPEN, 98, "spring clip", 7, 22.0),
    _chain("08B-1", PRIMARY, 66, "rivet", 14, 29.0),
    _chain("08B-1", PRIMARY, 70, "rivet", 14, 31.0),
    _chain("1/2 x 3/32", DERAILLEUR, 122, "quick link", 7, 27.5),
    _chain("1/2 x 3/32", DERAILLEUR, 114, "quick link", 7, 24.0),
    _chain("1/2 x 1/8", HUB_GEAR, 108, "spring clip", 7, 18.0),
    _chain("1/2 x 1/8", HUB_GEAR, 106, "spring clip", 7, 18.0),
    _sprocket("428", 14, 10, 21.0),
    _sprocket("428", 48, 14, 46.0),
    _sprocket("520", 14, 10, 24.0),
    _sprocket("520", 44, 14, 52.0),
    _sprocket("520", 13, 7, 19.0),
    _sprocket("520", 50, 10, 44.0),
    _sprocket("428", 15, 7, 17.0),
    _sprocket("420", 12, 7, 9.5),
    _sprocket("420", 36, 10, 19.0),
    _sprocket("08B-1", 17, 14, 16.0),
    _sprocket("08B-1", 42, 21, 39.0),
    _sprocket("08B-1", 44, 21, 41.0),
    _sprocket("1/2 x 3/32", 38, 10, 33.0),
    _sprocket("1/2 x 3/32", 18, 7, 38.0, " of a cluster of 9"),
    _sprocket("1/2 x 3/32", 44, 10, 36.0),
    _sprocket("1/2 x 1/8", 42, 10, 29.0),
    _sprocket("1/2 x 1/8", 20, 7, 11.0),
    _sprocket("1/2 x 1/8", 44, 10, 30.0),
    _sprocket("1/2 x 1/8", 18, 7, 11.0),
    _belt("H8M", 8.0, 112, 30.0, 0.186, 28, 88.0),
    _belt("H14M", 14.0, 75, 40.0, 0.396, 28, 142.0),
    _belt("cycle 11 mm", 11.0, 115, 12.0, 0.0735, 21, 79.0),
    _pulley("H8M", 8.0, 28, 32.0, 28, 58.0),
    _pulley("H8M", 8.0, 72, 32.0, 28, 124.0),
    _pulley("H14M", 14.0, 20, 42.0, 28, 92.0),
    _pulley("H14M", 14.0, 48, 42.0, 28, 176.0),
    _pulley("cycle 11 mm", 11.0, 50, 13.0, 21, 54.0),
    _pulley("cycle 11 mm", 11.0, 24, 13.0, 21, 39.0),
)
BY_NAME = {part.name: part for part in PART_TYPES}


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUp:
    """One way to build a drive stage; driver, run and driven name part types."""

    stage: str
    order: int
    drive: str
    driver: str
    run: str
    driven: str
    adjuster_range_mm: float | None = None
    slack_mm: float = 0.0
    tension_n: float = 0.0
    least_tension_n: float = 0.0
    definition: str = ""
    rated_rpm: float | None = None
    rated_kw: float | None = None
    wheel_mm: float | None = None
    has_tensioner: bool = False

    @property
    def chain(self) -> PartType:
        """The chain or belt of this set-up."""
        return BY_NAME[self.run]

    @property
    def driver_teeth(self) -> int:
        """Teeth of the driver."""
        return BY_NAME[self.driver].teeth or 0

    @property
    def driven_teeth(self) -> int:
        """Teeth of the driven sprocket or pulley."""
        return BY_NAME[self.driven].teeth or 0

    @property
    def centre_mm(self) -> float:
        """Centre distance as built, taken in by 0.1 % from taut so that there is slack, [mm]."""
        part = self.chain
        if self.drive == "belt":
            return round(
                geometry.belt_centre_mm(part.teeth or 0, part.pitch_mm, self.driver_teeth, self.driven_teeth),
                1,
            )
        taut = geometry.chain_centre_mm(part.links or 0, part.pitch_mm, self.driver_teeth, self.driven_teeth)
        return round(taut * 0.999, 1)

    @property
    def span_mm(self) -> float:
        """Free span, [mm]; of a stage with a tensioner that of the plain loop."""
        span = geometry.belt_span_mm if self.drive == "belt" else geometry.chain_span_mm
        return round(span(self.centre_mm, self.chain.pitch_mm, self.driver_teeth, self.driven_teeth), 1)

    @property
    def loop_mm(self) -> float:
        """Nominal length of the whole chain, [mm]."""
        return (self.chain.links or 0) * self.chain.pitch_mm


_LOWER_RUN = "lower run, total, on the stand"
_SHORT_RUN = "upper run, total, cover off"
_CYCLE_RUN = "lower run, total, wheel free"

PRIMARY_BELT = SetUp(
    stage="primary drive", order=1, drive="belt", driver="Pulley H8M 28 t", run="Belt H8M 112 t 30 mm",
    driven="Pulley H8M 72 t", adjuster_range_mm=12.0, tension_n=330.0, least_tension_n=200.0,
    rated_rpm=4200.0, rated_kw=8.0,
)  # fmt: skip
PRIMARY_WIDE_BELT = SetUp(
    stage="primary drive", order=1, drive="belt", driver="Pulley H14M 20 t", run="Belt H14M 75 t 40 mm",
    driven="Pulley H14M 48 t", adjuster_range_mm=14.0, tension_n=620.0, least_tension_n=400.0,
    rated_rpm=4000.0, rated_kw=11.0,
)  # fmt: skip
PRIMARY_CHAIN = SetUp(
    stage="primary drive", order=1, drive="chain", driver="Sprocket 08B-1 17 t", run="Chain 08B-1 66 links",
    driven="Sprocket 08B-1 42 t", adjuster_range_mm=10.0, slack_mm=8.0, definition=_SHORT_RUN,
    rated_rpm=4200.0, rated_kw=8.0,
)  # fmt: skip
CONVERTED_PRIMARY = SetUp(
    stage="primary drive", order=1, drive="chain", driver="Sprocket 08B-1 17 t", run="Chain 08B-1 70 links",
    driven="Sprocket 08B-1 44 t", adjuster_range_mm=12.0, slack_mm=8.0, definition=_SHORT_RUN,
    rated_rpm=4200.0, rated_kw=8.0,
)  # fmt: skip
PATROL_FINAL = SetUp(
    stage="final drive", order=2, drive="chain", driver="Sprocket 428 14 t", run="Chain 428 sealed 118 links",
    driven="Sprocket 428 48 t", adjuster_range_mm=28.0, slack_mm=30.0, definition=_LOWER_RUN, wheel_mm=1930.0,
)  # fmt: skip
HEAVY_FINAL = SetUp(
    stage="final drive", order=2, drive="chain", driver="Sprocket 520 14 t", run="Chain 520 sealed 110 links",
    driven="Sprocket 520 44 t", adjuster_range_mm=30.0, slack_mm=31.0, definition=_LOWER_RUN, wheel_mm=2010.0,
)  # fmt: skip
TRAIL_520 = SetUp(
    stage="final drive", order=1, drive="chain", driver="Sprocket 520 13 t", run="Chain 520 112 links",
    driven="Sprocket 520 50 t", adjuster_range_mm=34.0, slack_mm=40.0, definition=_LOWER_RUN, wheel_mm=2080.0,
)  # fmt: skip
TRAIL_520_SHORT = SetUp(
    stage="final drive", order=1, drive="chain", driver="Sprocket 520 13 t", run="Chain 520 112 links",
    driven="Sprocket 520 50 t", adjuster_range_mm=17.0, slack_mm=40.0, definition=_LOWER_RUN, wheel_mm=2080.0,
)  # fmt: skip
TRAIL_428 = SetUp(
    stage="final drive", order=1, drive="chain", driver="Sprocket 428 15 t", run="Chain 428 126 links",
    driven="Sprocket 428 48 t", adjuster_range_mm=30.0, slack_mm=32.0, definition=_LOWER_RUN, wheel_mm=1960.0,
)  # fmt: skip
MOPED_FINAL = SetUp(
    stage="final drive", order=1, drive="chain", driver="Sprocket 420 12 t", run="Chain 420 98 links",
    driven="Sprocket 420 36 t", adjuster_range_mm=24.0, slack_mm=27.0, definition=_LOWER_RUN, wheel_mm=1620.0,
)  # fmt: skip
CARGO_DERAILLEUR = SetUp(
    stage="final drive", order=1, drive="chain", driver="Sprocket 1/2 x 3/32 38 t",
    run="Chain 1/2 x 3/32 122 links", driven="Sprocket 1/2 x 3/32 18 t of a cluster of 9", wheel_mm=1680.0,
    rated_kw=0.25, has_tensioner=True,
)  # fmt: skip
CARGO_HUB_CHAIN = SetUp(
    stage="final drive", order=1, drive="chain", driver="Sprocket 1/2 x 1/8 42 t",
    run="Chain 1/2 x 1/8 108 links", driven="Sprocket 1/2 x 1/8 20 t", adjuster_range_mm=18.0, slack_mm=10.0,
    definition=_CYCLE_RUN, wheel_mm=1680.0, rated_kw=0.25,
)  # fmt: skip
CARGO_HUB_BELT = SetUp(
    stage="final drive", order=1, drive="belt", driver="Pulley cycle 11 mm 50 t",
    run="Belt cycle 11 mm 115 t 12 mm", driven="Pulley cycle 11 mm 24 t", adjuster_range_mm=15.0,
    tension_n=210.0, least_tension_n=130.0, wheel_mm=1680.0, rated_kw=0.25,
)  # fmt: skip
BICYCLE_DERAILLEUR = SetUp(
    stage="final drive", order=1, drive="chain", driver="Sprocket 1/2 x 3/32 44 t",
    run="Chain 1/2 x 3/32 114 links", driven="Sprocket 1/2 x 3/32 18 t of a cluster of 9", wheel_mm=2150.0,
    has_tensioner=True,
)  # fmt: skip
BICYCLE_HUB = SetUp(
    stage="final drive", order=1, drive="chain", driver="Sprocket 1/2 x 1/8 44 t",
    run="Chain 1/2 x 1/8 106 links", driven="Sprocket 1/2 x 1/8 18 t", adjuster_range_mm=18.0, slack_mm=10.0,
    definition=_CYCLE_RUN, wheel_mm=2150.0,
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """Something to measure with; mm, Hz or N, fractions for gauges. `true_bias` is what it really adds."""

    name: str
    kind: str
    unit: str
    resolution: float = 0.0
    u: float = 0.0
    noted_bias: float = 0.0
    true_bias: float = 0.0
    stamps: tuple[tuple[str, float], ...] = ()
    calibration_due: str = ""
    notes: str = ""


INSTRUMENTS: dict[str, Instrument] = {
    instrument.name: instrument
    for instrument in (
        Instrument(name="Upper caliper 200", kind="caliper", unit="mm", resolution=0.05, u=0.04,
                   calibration_due="2027-03-31", notes="vernier, Upper Depot"),
        Instrument(name="Harbour caliper 200", kind="caliper", unit="mm", resolution=0.01, u=0.03,
                   calibration_due="2027-05-31", notes="digital, Harbour Depot"),
        Instrument(name="Upper steel rule 500", kind="rule", unit="mm", resolution=0.5, u=0.2,
                   notes="checked against the caliper, no bias found"),
        Instrument(name="Harbour inch rule", kind="rule", unit="mm", resolution=0.79375, u=0.25,
                   true_bias=0.35, notes="divided in 1/32 in"),
        Instrument(name="Tape 2 m", kind="tape", unit="mm", resolution=1.0, u=0.4, notes="at Upper Depot"),
        Instrument(name="Two-prong gauge U1", kind="two-prong gauge", unit="%", u=0.0004, noted_bias=0.0012,
                   true_bias=0.0012, stamps=(("0.5", 0.005), ("0.75", 0.0075), ("1.0", 0.01)),
                   notes="read 0.12 % on three new chains"),
        Instrument(name="One-side gauge H1", kind="one-side gauge", unit="%", u=0.0003,
                   stamps=(("0.5", 0.005), ("0.8", 0.008)), notes="both rollers loaded the same way"),
        Instrument(name="Span frequency meter", kind="frequency meter", unit="Hz", resolution=0.5, u=1.0,
                   calibration_due="2027-01-31", notes="three plucks, quarter turn between"),
        Instrument(name="Belt force gauge", kind="force gauge", unit="N", resolution=1.0, u=1.5,
                   notes="for cycle belts, plunger at mid-span"),
        Instrument(name="Torque wrench 20 to 100", kind="torque wrench", unit="N.m",
                   calibration_due="2026-12-15", notes="ISO 6789 type II"),
    )
}  # fmt: skip
