"""The generator of the sample fleet stands by itself and repeats itself."""

import ast
import math
from pathlib import Path

import pytest

from sample_fleet import generate, geometry
from sample_fleet.roads import stream

HOUSE = Path(generate.__file__).resolve().parent


def files_below(folder: Path) -> dict[str, bytes]:
    return {
        f"{part}/{path.name}": path.read_bytes()
        for part in ("csv", "truth")
        for path in sorted((folder / part).iterdir())
    }


def test_running_the_generator_again_writes_the_same_bytes(tmp_path):
    assert generate.main(["--output", str(tmp_path)]) == 0
    assert files_below(tmp_path) == files_below(HOUSE)


def test_another_seed_is_another_fleet(tmp_path):
    assert generate.main(["--output", str(tmp_path), "--seed", "7"]) == 0
    other, ours = files_below(tmp_path), files_below(HOUSE)
    assert set(other) == set(ours)
    assert other["csv/readings.csv"] != ours["csv/readings.csv"]
    assert other["csv/part_types.csv"] == ours["csv/part_types.csv"]


def test_the_files_stay_small_enough_to_be_shipped():
    assert sum(len(content) for content in files_below(HOUSE).values()) < 700_000


def test_the_true_laws_know_nothing_of_the_program():
    foreign = set()
    for source in HOUSE.glob("*.py"):
        for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                foreign |= {alias.name.partition(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom):
                assert node.level == 0
                foreign.add((node.module or "").partition(".")[0])
    standard = {
        "argparse", "collections", "csv", "dataclasses", "datetime", "fractions", "io", "math", "pathlib",
        "sys", "typing", "zlib",
    }  # fmt: skip
    assert foreign <= standard | {"numpy", "sample_fleet"}


def test_a_vehicle_has_a_random_stream_of_its_own():
    assert stream(1, "LR-001").random() == stream(1, "LR-001").random()
    assert stream(1, "LR-001").random() != stream(1, "LR-002").random()


def test_chain_length_agrees_with_a_worked_example():
    # Machine-element textbook companion (FOSSEE 764), Ex. 14.3: p 12.7, 21/63 teeth, 122 links: 500.805 mm
    # by the handbook approximation; the polygon lies 0.018 mm below it.
    assert geometry.chain_centre_mm(122, 12.7, 21, 63) == pytest.approx(500.805, abs=0.02)


def test_belt_length_agrees_with_a_worked_example():
    # CMU course 16-223, GT2 belt 20/60 teeth at 100 mm: 140.811669871759 teeth.
    assert geometry.belt_length_mm(100.0, 2.0, 20, 60) / 2.0 == pytest.approx(140.811669871759, abs=1e-9)


def test_centre_and_length_are_inverse():
    centre = geometry.belt_centre_mm(112, 8.0, 28, 72)
    assert geometry.belt_length_mm(centre, 8.0, 28, 72) == pytest.approx(896.0, abs=1e-6)
    assert math.isclose(
        geometry.chain_links(geometry.chain_centre_mm(118, 12.7, 14, 48), 12.7, 14, 48), 118, abs_tol=1e-6
    )
