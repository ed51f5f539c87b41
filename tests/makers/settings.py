"""What the settings tests need: limits, gauges, checks on a new chain, said in a few words."""

from tests.makers.bench import SEALED, TODAY
from wearlog.fleet.limit import Limit
from wearlog.fleet.reading import Instrument, InstrumentKind, Measurand
from wearlog.workshop.agree_snapshot import NewChainCheck
from wearlog.workshop.bench import Bench


def limit_of_class(bench: Bench, wear_class=SEALED, measurand=Measurand.CHAIN_ELONGATION) -> Limit:
    """Return the limit in force for a whole class."""
    with bench.database.reading() as records:
        found = records.all(Limit, live=True, measurand=measurand, wear_class=wear_class, designation="")
    return next(limit for limit in found if not limit.model and limit.vehicle_id is None)


def maker_limit(service_limit: float = 0.008, **more: object) -> Limit:
    """Return an elongation limit as a vehicle maker prints it."""
    values = {
        "measurand": Measurand.CHAIN_ELONGATION,
        "wear_class": SEALED,
        "service_limit": service_limit,
        "source": "vehicle maker's manual, p. 31",
    }
    return Limit(**(values | more))


def add_gauge(bench: Bench, kind=InstrumentKind.GAUGE_ONE_SIDE, **more: object) -> Instrument:
    """Keep a drop-in gauge with three stamps."""
    stamps = (("0.5", 0.005), ("0.75", 0.0075), ("1.0", 0.01))
    with bench.database.writing(by="Tilda", at=bench.now(), what="gauge") as records:
        return records.add(Instrument(**({"name": "gauge G1", "kind": kind, "stamps": stamps} | more)))


def kept_instrument(bench: Bench, instrument_id: int) -> Instrument:
    """Return an instrument as it is kept now."""
    with bench.database.reading() as records:
        return records.get(Instrument, instrument_id)


def check_of(instrument: Instrument, **read: object) -> NewChainCheck:
    """Return a check on a new 428 chain, 20 pitches of 12.7 mm."""
    return NewChainCheck(**({"instrument": instrument, "on": TODAY, "pitches": 20, "pitch_mm": 12.7} | read))
