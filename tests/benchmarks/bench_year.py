"""A year of the sample fleet's workshop under each policy: `python -m tests.benchmarks.bench_year`.

Options: weeks (52), seconds for the solver and each depot (2), policies by their first word. Printed is a
table, a column a policy, counted from the true wear; see `tests/benchmarks/year`.
"""

import argparse
import json
import sys
import tempfile
import time
from pathlib import Path

from sample_fleet.roster import ROSTER
from tests.benchmarks.year.living import ROLL_CALL_WEEKS, YEAR_SEED, Year, begin, end, live_week
from wearlog.planning.scheduling import VisitPolicy


def rows_of(year: Year) -> dict[str, float]:
    """Return what the table says of one policy."""
    ledger, terms = year.ledger, year.world.terms
    money = {
        "visits": ledger.visits * terms.visit_cost,
        "labour": ledger.labour(terms),
        "parts worn off": ledger.worn,
        "unused life": ledger.unused,
        "sprockets under late chains": ledger.late_sprockets,
        "failures to expect": ledger.failure_cost(terms),
        "all": ledger.total(terms),
    }
    kinds = {f"  {kind}": float(count) for kind, count in sorted(ledger.replaced.items())}
    return {
        "km ridden": ledger.km,
        "visits": ledger.visits,
        "hours in the bay": ledger.minutes / 60.0,
        "readings": ledger.readings,
        "replacements": ledger.replacements,
        **kinds,
        "  wanted off, read and kept on": ledger.kept_on,
        "  before their limit": ledger.replaced_early,
        "parts past their limit": len(ledger.parts_past),
        "km on chains past their limit": ledger.chain_past_km,
        "km on other parts past their limit": ledger.other_past_km,
        "unused life thrown away, km": ledger.unused_km,
        "parts bought": ledger.bought,
        **{f"per 1000 km: {name}": ledger.per_1000_km(amount) for name, amount in money.items()},
        **_forecasts(year, "chain"),
        **_forecasts(year, "sprocket"),
        "lines without a day, summed": ledger.unplaced,
        "longest time overdue, weeks": ledger.overdue_weeks,
    }


def _forecasts(year: Year, kind: str) -> dict[str, float]:
    told = year.score(kind)
    return {
        f"{kind}s: forecasts judged": told.count,
        f"{kind}s: median error of the date, d": told.median_error,
        f"{kind}s: its middle, late above 0, d": told.lean,
        f"{kind}s: inside 50 %": told.inside[0],
        f"{kind}s: inside 80 %": told.inside[1],
        f"{kind}s: inside 95 %": told.inside[2],
    }


def main() -> None:
    """Live the year and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--weeks", type=int, default=52)
    parser.add_argument("--seconds", type=float, default=2.0)
    parser.add_argument("--seed", type=int, default=YEAR_SEED)
    parser.add_argument("--policies", nargs="*", default=[policy.value.split()[0] for policy in VisitPolicy])
    parser.add_argument("--depot", default="", help="the vehicles of one depot only, by its first word")
    parser.add_argument("--output", type=Path, help="also write the numbers as JSON")
    asked = parser.parse_args()
    chosen = [policy for policy in VisitPolicy if policy.value.split()[0] in asked.policies]
    plans = tuple(plan for plan in ROSTER if plan.depot.startswith(asked.depot))
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        years = [begin(Path(folder) / policy.name, policy, plans=plans, seed=asked.seed) for policy in chosen]
        for week in range(asked.weeks):
            for year in years:
                live_week(year, asked.seconds)
            visits = ", ".join(f"{year.ledger.visits}" for year in years)
            print(f"week {week + 1}: {visits} visits, {time.perf_counter() - begun:.0f} s", file=sys.stderr)  # noqa: T201
            if (week + 1) % ROLL_CALL_WEEKS == 0 or week + 1 == asked.weeks:
                _show(years, asked.output)
        for year in years:
            year.bench.database.close()


def _show(years: list[Year], output: Path | None) -> None:
    """Print what the years came to so far."""
    for year in years:
        end(year)
    found = {year.policy.value: rows_of(year) for year in years}
    names = list(dict.fromkeys(name for rows in found.values() for name in rows))
    print(f"{f'{years[0].weeks} weeks':42}", *(f"{policy:>18}" for policy in found))  # noqa: T201
    for name in names:
        print(f"{name:42}", *(f"{rows.get(name, 0.0):18.2f}" for rows in found.values()), flush=True)  # noqa: T201
    if output is not None:
        output.write_text(json.dumps(found, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
