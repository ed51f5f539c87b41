"""Copying the whole database from the command line: file to server, and back to a file."""

from tests.cli.test_keeping_safe import database, run

__all__ = ["database"]


def test_a_fleet_goes_to_a_server_and_back_and_nothing_differs(database, postgresql, tmp_path):
    there = run(database, "copy-to", postgresql)
    assert there.exit_code == 0, there.output
    assert "the same on both sides" in there.stdout
    back = run(postgresql, "copy-to", tmp_path / "back.sqlite")
    assert back.exit_code == 0, back.output
    # Table by table, rows and checksums.
    assert there.stdout.splitlines()[:-1] == back.stdout.splitlines()[:-1]
    for place in (postgresql, tmp_path / "back.sqlite"):
        result = run(place, "verify")
        assert result.exit_code == 0, result.output
    lists = [run(place, "due", "--format", "csv").stdout for place in (database, postgresql)]
    assert lists[0] == lists[1]


def test_a_place_that_is_taken_ends_with_code_6(database, tmp_path):
    result = run(database, "copy-to", database)
    assert result.exit_code == 6
    assert "something already" in result.stderr
