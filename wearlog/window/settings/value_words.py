"""Agreed values as text: as exact as they were agreed on, in the units of the seat, and back from fields."""

from decimal import Decimal
from gettext import gettext as _

from wearlog.fleet.parts import WearClass
from wearlog.fleet.quantity import Quantity, ShownUnits
from wearlog.fleet.reading import InstrumentKind
from wearlog.fleet.vehicle import VehicleKind
from wearlog.units import in_unit, show
from wearlog.workshop.agree_instruments import READS_IN

_QUANTITY = {
    "mm": Quantity.LENGTH,
    "%": Quantity.ELONGATION,
    "Hz": Quantity.FREQUENCY,
    "N": Quantity.FORCE,
    "N.m": Quantity.TORQUE,
}
NONE = "–"


def exact_text(value: float | None, quantity: Quantity, shown: ShownUnits, *, digits: int = 5) -> str:
    r"""Return a value that was agreed on, with as many digits as it has; a dash for none.

    Examples
    --------
    >>> exact_text(0.017, Quantity.ELONGATION, ShownUnits()), exact_text(45.0, Quantity.LENGTH, ShownUnits())
    ('1.7\u2009%', '45\u2009mm')
    """
    if value is None:
        return NONE
    number = Decimal(f"{in_unit(value, quantity, shown.unit_of(quantity)):.{digits}g}").normalize()
    exponent = number.as_tuple().exponent
    places = max(-exponent, 0) if isinstance(exponent, int) else 0
    return show(value, quantity, shown, decimals=places)


def read_quantity(kind: InstrumentKind) -> Quantity:
    """Return what an instrument reads.

    Examples
    --------
    >>> read_quantity(InstrumentKind.CALIPER)
    <Quantity.LENGTH: 'length'>
    """
    return _QUANTITY[READS_IN[kind]]


def class_text(wear_class: WearClass) -> str:
    """Return what kind of part it is."""
    return {
        WearClass.SEALED_MOTORCYCLE_CHAIN: _("sealed motorcycle chain"),
        WearClass.OPEN_MOTORCYCLE_CHAIN: _("open motorcycle chain"),
        WearClass.PRIMARY_ROLLER_CHAIN: _("primary roller chain"),
        WearClass.DERAILLEUR_CYCLE_CHAIN: _("derailleur cycle chain"),
        WearClass.HUB_GEAR_CYCLE_CHAIN: _("hub-gear cycle chain"),
        WearClass.SPROCKET: _("sprocket"),
        WearClass.TOOTHED_BELT: _("toothed belt"),
        WearClass.PULLEY: _("pulley"),
        WearClass.UNKNOWN: _("chain of unknown kind"),
    }[wear_class]


def vehicle_kind_text(kind: VehicleKind) -> str:
    """Return what sort of vehicle it is."""
    return {
        VehicleKind.ELECTRIC_MOTORCYCLE: _("electric motorcycle"),
        VehicleKind.PETROL_MOTORCYCLE: _("petrol motorcycle"),
        VehicleKind.MOPED: _("moped"),
        VehicleKind.CARGO_EBIKE: _("cargo e-bike"),
        VehicleKind.EBIKE: _("e-bike"),
        VehicleKind.BICYCLE: _("bicycle"),
    }[kind]


def instrument_kind_text(kind: InstrumentKind) -> str:
    """Return what an instrument is."""
    return {
        InstrumentKind.CALIPER: _("caliper"),
        InstrumentKind.RULE: _("rule"),
        InstrumentKind.TAPE: _("tape"),
        InstrumentKind.GAUGE_TWO_PRONG: _("two-prong gauge"),
        InstrumentKind.GAUGE_ONE_SIDE: _("one-side gauge"),
        InstrumentKind.FREQUENCY_METER: _("frequency meter"),
        InstrumentKind.FORCE_GAUGE: _("force gauge"),
        InstrumentKind.TORQUE_WRENCH: _("torque wrench"),
    }[kind]


def set_by_text(is_default: bool) -> str:
    """Return who a value comes from: wearlog's own to start with, or the workshop."""
    return _("wearlog") if is_default else _("workshop")


def capital(text: str) -> str:
    """Return a sentence's start with a capital."""
    return text[:1].upper() + text[1:]


def size_text(size_bytes: int) -> str:
    r"""Return the size of a file.

    Examples
    --------
    >>> size_text(3_400_000)
    '3.4\u2009MB'
    """
    thin = "\u2009"
    if size_bytes >= 1_000_000_000:
        return f"{size_bytes / 1e9:.1f}{thin}GB"
    if size_bytes >= 1_000_000:
        return f"{size_bytes / 1e6:.1f}{thin}MB"
    return f"{max(size_bytes / 1e3, 1.0):.0f}{thin}kB"
