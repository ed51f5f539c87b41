"""What the settings page shows: limits, intervals, instruments, what the workshop agreed on, the database."""

from dataclasses import dataclass
from datetime import date

from wearlog.fleet.limit import Limit
from wearlog.fleet.parts import WearClass
from wearlog.fleet.problem import Doubt
from wearlog.fleet.reading import Instrument, InstrumentKind
from wearlog.fleet.service import IntervalRule
from wearlog.planning.states import Policy

GAUGES = frozenset({InstrumentKind.GAUGE_TWO_PRONG, InstrumentKind.GAUGE_ONE_SIDE})
#: Instruments that read a length along a chain.
LENGTH_KINDS = frozenset({InstrumentKind.CALIPER, InstrumentKind.RULE, InstrumentKind.TAPE})


@dataclass(frozen=True, slots=True)
class LimitLine:
    """A limit in force.

    Attributes
    ----------
    limit
        The limit, in canonical units.
    is_default
        Whether it is one that wearlog starts with, unchanged.
    default
        What wearlog starts with for the same measurand and parts; None where it has nothing.
    governs
        How many running parts (for slack: stages) it governs.
    tightened
        On how many of these chains the largest sprocket sets a tighter limit still.
    vehicle_tag
        Of the vehicle it is for; empty for any.
    """

    limit: Limit
    is_default: bool = False
    default: Limit | None = None
    governs: int = 0
    tightened: int = 0
    vehicle_tag: str = ""


@dataclass(frozen=True, slots=True)
class RuleLine:
    """An interval rule in force; `governs` counts the stages in use that it asks something of."""

    rule: IntervalRule
    is_default: bool = False
    default: IntervalRule | None = None
    governs: int = 0
    vehicle_tag: str = ""


@dataclass(frozen=True, slots=True)
class InstrumentLine:
    """An instrument, how many readings and torques were taken with it, and whether its check is overdue."""

    instrument: Instrument
    readings: int = 0
    is_overdue: bool = False


@dataclass(frozen=True, slots=True)
class Choices:
    """What limits and rules may be for, as the fleet has it.

    Attributes
    ----------
    designations
        Of each wear class: designations of its part types, and the chains they belong to.
    models, stages
        Vehicle models and names of drive stages.
    vehicles
        Tag and number of the vehicles in service.
    pitches
        Designation and pitch of the chains, [mm].
    """

    designations: tuple[tuple[WearClass, tuple[str, ...]], ...] = ()
    models: tuple[str, ...] = ()
    stages: tuple[str, ...] = ()
    vehicles: tuple[tuple[str, int], ...] = ()
    pitches: tuple[tuple[str, float], ...] = ()

    def designations_of(self, wear_class: WearClass) -> tuple[str, ...]:
        """Return the designations of a wear class."""
        return dict(self.designations).get(wear_class, ())


@dataclass(frozen=True, slots=True)
class DatabaseFacts:
    """Where the data are and how much there is; `counts` pairs a kind of record with how many there are.

    `size_bytes` is None for a database on a server. The address is without any password.
    """

    address: str
    is_file: bool
    size_bytes: int | None
    schema: str
    counts: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class AgreedSnapshot:
    """All that the workshop agreed on."""

    today: date
    limits: tuple[LimitLine, ...]
    rules: tuple[RuleLine, ...]
    instruments: tuple[InstrumentLine, ...]
    policy: Policy
    people: tuple[str, ...]
    choices: Choices
    database: DatabaseFacts

    def limit_line(self, limit_id: int) -> LimitLine | None:
        """Return the line of a limit."""
        return next((line for line in self.limits if line.limit.id == limit_id), None)

    def rule_line(self, rule_id: int) -> RuleLine | None:
        """Return the line of a rule."""
        return next((line for line in self.rules if line.rule.id == rule_id), None)

    def instrument_line(self, instrument_id: int) -> InstrumentLine | None:
        """Return the line of an instrument."""
        return next((line for line in self.instruments if line.instrument.id == instrument_id), None)


@dataclass(frozen=True, slots=True)
class NewChainCheck:
    """What an instrument read on a new chain, as it was entered.

    Attributes
    ----------
    instrument
        What was checked.
    on
        The day.
    lengths_mm
        What it read at each place, over `pitches` pitches of `pitch_mm`, [mm].
    elongations
        For a gauge with a scale: what it showed at each place, [-].
    stamps
        For a gauge without: each stamp's meaning, [-], and whether it went in.
    resolution
        Step of the last digit typed, [mm or -].
    compared_mm
        The same length by an instrument that is trusted, [mm]; None if it was not taken.
    """

    instrument: Instrument
    on: date
    lengths_mm: tuple[float, ...] = ()
    pitches: int = 0
    pitch_mm: float = 0.0
    elongations: tuple[float, ...] = ()
    stamps: tuple[tuple[float, bool], ...] = ()
    resolution: float = 0.0
    compared_mm: float | None = None


@dataclass(frozen=True, slots=True)
class FoundBias:
    """What a check on a new chain says.

    Attributes
    ----------
    bias, u_bias
        What the instrument reads too much, and its standard uncertainty, [mm or -]. Both are None if the
        check sets no bias: no stamp went in.
    doubts
        What is odd about it.
    reads_under
        With no stamp in: the smallest stamp's meaning, [-].
    """

    bias: float | None
    u_bias: float | None
    doubts: tuple[Doubt, ...] = ()
    reads_under: float | None = None
