"""Coverage-guided fuzzing of the arguments of the command line.

``python tests/fuzz/fuzz_command_line.py -runs=20000`` (needs atheris: ``pip install atheris``). Whatever is
typed, the program ends with one of its exit codes and a sentence, never with a traceback; no window opens, no
file is written outside the folder of the run.
"""

import os
import shutil
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import atheris

FOLDER = Path(tempfile.mkdtemp(prefix="wearlog-fuzz-"))
for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME"):
    os.environ[name] = str(FOLDER / name.lower())
os.environ["QT_QPA_PLATFORM"] = "offscreen"

with atheris.instrument_imports(include=["wearlog.cli"]):
    from click.testing import CliRunner

    from tests.makers.import_folder import new_bench, write_folder
    from wearlog import app
    from wearlog.cli import wearlog
    from wearlog.cli.exit_codes import BUG, EXIT_CODES, OK, STOPPED
    from wearlog.exchange.csv_folder import read_import
    from wearlog.workshop.bring_in import bring_in

ORIGINAL = FOLDER / "fleet.sqlite"
_bench = new_bench(ORIGINAL)
bring_in(_bench, read_import([write_folder(FOLDER / "fleet")]))
_bench.database.close()
WORDS = (
    *sorted(wearlog.commands),
    *("--database", "--by", "--help", "--weeks", "--depot", "--output", "-o", "--questions", "--on", "--"),
    *("2026-11-23", "2026-13-99", "LR-001", "final drive", "fleet", "vehicles.csv", "-1", "0", "1e9", "8w"),
    *("99999w", "", "%", "=1+1", "../up", "a.csv", "a.xlsx", "a.pdf", "a.ics", "a.png"),
)
CODES = {OK, STOPPED, 1, 2, *EXIT_CODES.values()}


def arguments(provider: "atheris.FuzzedDataProvider") -> list[str]:
    """Return what is typed; a path of its own could lead anywhere, so none is made up."""
    typed = []
    for _count in range(provider.ConsumeIntInRange(0, 8)):
        if provider.ConsumeIntInRange(0, 3):
            typed.append(provider.PickValueInList(list(WORDS)))
        else:
            typed.append(provider.ConsumeUnicode(8).replace("/", "").replace("\\", "").replace("~", ""))
    return typed


def test_one(data: bytes) -> None:
    """Run the command line once."""
    work = FOLDER / "deep" / "run"
    shutil.rmtree(FOLDER / "deep", ignore_errors=True)
    work.mkdir(parents=True)
    file = work / "fleet.sqlite"
    shutil.copy(ORIGINAL, file)
    os.chdir(work)
    typed = arguments(atheris.FuzzedDataProvider(data))
    if "--database" not in typed and "--sample" not in typed:
        typed = ["--database", str(file), *typed]
    program = replace(app.program(), open_window=lambda *_given: OK)
    result = CliRunner().invoke(wearlog, typed, obj=program)
    assert result.exit_code != BUG, (typed, result.output)
    assert result.exit_code in CODES, (typed, result.exit_code, result.output)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception


if __name__ == "__main__":
    atheris.Setup([*sys.argv, "-max_len=60", "-len_control=0"], test_one)
    atheris.Fuzz()
