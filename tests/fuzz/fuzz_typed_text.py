"""Coverage-guided fuzzing of what a person may type as a quantity.

``python tests/fuzz/fuzz_typed_text.py -runs=100000`` (needs atheris: ``pip install atheris``). A text is
understood as finite numbers in units of the quantity, or refused with what is wrong and what to do.
"""

import math
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import atheris

with atheris.instrument_imports(include=["wearlog.units", "wearlog.exchange", "wearlog.fleet"]):
    from wearlog import units
    from wearlog.exchange import cells, measured_cells
    from wearlog.exchange.cell_text import day_text, number_text
    from wearlog.exchange.cells import BadCell
    from wearlog.exchange.matching import DayOrder
    from wearlog.fleet.problem import WearlogError
    from wearlog.fleet.quantity import Quantity
    from wearlog.fleet.reading import Measurand, Method

QUANTITIES = list(Quantity)


READERS = (
    cells.amount,
    cells.number,
    cells.day,
    measured_cells.tasks,
    measured_cells.spots,
    measured_cells.stamps,
)


def understood(read: Callable[[], Any]) -> Any:
    """Return what was read; None, after a look at the reasons, if it was refused."""
    try:
        return read()
    except WearlogError as error:
        reasons = [(problem.what, problem.todo) for problem in error.problems]
    except BadCell as bad:
        reasons = [(bad.what, "any")]
    for what, todo in reasons:
        assert what, "refused without a reason"
        assert todo, what
    return None


def test_one(data: bytes) -> None:
    """Try one text in every reader of typed text."""
    provider = atheris.FuzzedDataProvider(data)
    quantity = provider.PickValueInList(QUANTITIES)
    unit = provider.PickValueInList([None, *units.units_for(quantity)])
    method = provider.PickValueInList(list(Method))
    measurand = provider.PickValueInList(list(Measurand))
    order = provider.PickValueInList(list(DayOrder))
    decimal = provider.PickValueInList(["", ".", ","])
    text = provider.ConsumeUnicode(provider.remaining_bytes())
    for parse in (units.parse, units.parse_several):
        read = understood(lambda parse=parse: parse(text, quantity, unit))
        for typed in read if isinstance(read, tuple) else (read,) if read is not None else ():
            assert math.isfinite(typed.value), text
            assert typed.unit in units.units_for(quantity), text
    row = {"method": method, "measurand": measurand}
    for reader in READERS:
        understood(lambda reader=reader: reader(text, unit or "", row))
    understood(lambda: day_text(text, order))
    understood(lambda: number_text(text, decimal))


SEEDS = (
    *("12 3/4 in", "257.1; 257.4 mm", "1.234,5 km", "119.76/136.78", "42 N / 12 mm", "0.5 in; 0.75 out"),
    *("set tension: final drive 52 mm > 38 mm = wax", "0.5 = 0.5 %", "14.3.2026", "-1,5e-3 \u00b0C"),
)

if __name__ == "__main__":
    corpus = Path(tempfile.mkdtemp(prefix="wearlog-fuzz-"))
    for number, seed in enumerate(SEEDS):
        (corpus / str(number)).write_bytes(seed.encode("utf-16-le") + bytes(8))
    atheris.Setup([*sys.argv, "-max_len=200", "-len_control=0", str(corpus)], test_one)
    atheris.Fuzz()
