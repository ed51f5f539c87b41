"""Fleet records for tests: a fleet cared for in two ways, and records made up of given figures."""

from datetime import timedelta

import numpy as np

from tests.makers.bench import KM_A_DAY, TODAY, add_motorcycle, add_types
from wearlog.fleet.parts import WearClass
from wearlog.fleet.reading import Measurand
from wearlog.fleet.service import Task, TaskDone, Visit
from wearlog.forecast.checks import Coverage, wilson_interval
from wearlog.workshop.bench import Bench
from wearlog.workshop.record_snapshot import (
    Comparison,
    Factor,
    KindRecord,
    Rate,
    RecordSnapshot,
    Reliability,
    Survival,
    Verdict,
)

#: Rate of an ordinary chain of `add_cared_for`: elongation in 1000 km.
USUAL_RATE = 0.0012


def add_cared_for(
    bench: Bench, factor: float, *, each: int = 12, products=("wax", "oil"), km_between=(600.0, 600.0), seed=4
) -> None:
    """Add motorcycles of one duty whose chains get one of two lubricants.

    With the second they wear `factor` times as fast. Rates of single chains spread by 15 %; the seed is
    arbitrary.
    """
    rng = np.random.default_rng(seed)
    types = add_types(bench)
    for group, (product, every) in enumerate(zip(products, km_between, strict=True)):
        for n in range(each):
            rate = USUAL_RATE * factor**group * float(np.exp(rng.normal(0.0, 0.15)))
            read_at = (1000.0, 2200.0, 3400.0)
            readings = [(km, rate * km / 1000.0 + float(rng.normal(0.0, 0.0002))) for km in read_at]
            chain = add_motorcycle(bench, f"LR-{group}{n:02d}", readings, types=types)
            with bench.database.writing(by="Tilda", at=bench.now(), what="care") as records:
                for km in np.arange(every, 4000.0, every).tolist():
                    done = TaskDone(task=Task.LUBRICATED, stage_id=chain.stage_id, care=product)
                    records.add(
                        Visit(
                            vehicle_id=chain.vehicle_id,
                            on=chain.fitted_on + timedelta(days=round(km / KM_A_DAY)),
                            total_use=1000.0 + km,
                            tasks=(done,),
                        )
                    )


# --- made up --------------------------------------------------------------------------------------------


def held(width: float, hits: int, n: int) -> Coverage:
    """Return how often an interval held, with Wilson's interval of that."""
    low, high = wilson_interval(hits, n)
    return Coverage(width, hits / n if n else float("nan"), low, high, n)


def reliability(n=400, shares=(0.5, 0.8, 0.95), error=0.05, line=0.08, n_parts=60) -> Reliability:
    """Return a back-test in which each interval held a given share."""
    widths = [round(0.05 * step, 2) for step in range(1, 20)]
    curve = np.interp(widths, [0.0, 0.5, 0.8, 0.95, 1.0], [0.0, *shares, 1.0])
    return Reliability(
        told=tuple(held(w, round(s * n), n) for w, s in zip((0.5, 0.8, 0.95), shares, strict=True)),
        curve=tuple(held(w, round(s * n), n) for w, s in zip(widths, curve.tolist(), strict=True)),
        median_error=error if n else float("nan"),
        line_error=line if n else float("nan"),
        n_checks=n,
        n_parts=n_parts if n else 0,
    )


NOTHING = reliability(0)


def survival(level="", use=(8000.0, 11_000.0, 14_000.0), share=(0.8, 0.5, 0.3), **changes) -> Survival:
    """Return a survival curve with a few steps."""
    shares = np.array(share)
    given = {
        "level": level,
        "use": np.array(use),
        "share": shares,
        "low": np.maximum(shares - 0.2, 0.0),
        "high": np.minimum(shares + 0.15, 1.0),
        "at_risk": np.arange(20, 20 - len(use), -1),
        "ended_early": np.array([3000.0, 9000.0, 16_000.0]),
        "median": 11_000.0,
        "median_low": 8000.0,
        "median_high": 14_000.0,
        "n_parts": 24,
        "n_worn": 13,
        "n_running": 8,
        "n_unknown": 1,
        "use_last": 16_000.0,
    }
    return Survival(**{**given, **changes})


def kind_record(verdict: Verdict | None = None, **changes) -> KindRecord:
    """Return the record of sealed chains with two duties."""
    rates = (Rate("off-road", 9, 8, 0.11, 0.09, 0.135), Rate("road", 40, 38, 0.065, 0.058, 0.073))
    told = verdict or Verdict(True, "off-road", "road", 1.7, 1.3, 2.2)
    given = {
        "measurand": Measurand.CHAIN_ELONGATION,
        "wear_class": WearClass.SEALED_MOTORCYCLE_CHAIN,
        "use_unit": "km",
        "n_parts": 49,
        "n_readings": 400,
        "readings": reliability(),
        "distances": reliability(170, (0.45, 0.7, 0.85), 0.12, 0.15, 22),
        "rate": Rate("", 49, 46, 0.07, 0.063, 0.078),
        "comparisons": {Factor.DUTY: Comparison(Factor.DUTY, rates, told)},
        "survival": survival(),
        "survival_by": {Factor.DUTY: (survival("road"), survival("off-road", median=5000.0))},
    }
    return KindRecord(**{**given, **changes})


def record(*kinds: KindRecord, is_honest: bool = True) -> RecordSnapshot:
    """Return a record of some kinds of parts."""
    first = kinds[0] if kinds else None
    return RecordSnapshot(
        today=TODAY,
        is_honest=is_honest,
        kinds=kinds,
        readings=first.readings if first else NOTHING,
        distances=first.distances if first else NOTHING,
        n_vehicles=12,
    )
