"""Shelves brought in by stock.csv: counted once, never overwritten."""

import pytest

from tests.makers.import_folder import write_folder
from wearlog.exchange.csv_folder import read_import
from wearlog.fleet.parts import PartType
from wearlog.fleet.problem import WearlogError
from wearlog.fleet.stock import StockLine, StockMove, StockMoveKind
from wearlog.workshop.bring_in import bring_in
from wearlog.workshop.stock import use_part

HEAD = "part type,depot,on hand,least,lead time [d],price,joining links\n"


def folder_with(tmp_path, name, *rows):
    folder = write_folder(tmp_path / name)
    first = next(iter(read_import([folder]).part_types)).name
    (folder / "stock.csv").write_text(HEAD + "".join(row.format(part=first) + "\n" for row in rows))
    return folder


def kept(bench, kind):
    with bench.database.reading() as records:
        return records.all(kind)


def test_a_shelf_is_set_up_with_its_count(bench, tmp_path):
    brought = bring_in(bench, read_import([folder_with(tmp_path, "a", "{part},Upper Depot,3,1,12,81.50,4")]))
    assert brought.added["stock"] == 1
    line, move = kept(bench, StockLine)[0], kept(bench, StockMove)[0]
    assert (line.on_hand, line.least, line.lead_days, line.price, line.joining_links) == (3, 1, 12, 81.5, 4)
    assert (move.kind, move.count, move.depot) == (StockMoveKind.COUNTED, 3, "Upper Depot")
    assert kept(bench, PartType)[0].id == line.part_type_id


def test_the_same_file_again_adds_nothing_though_parts_were_used_meanwhile(bench, tmp_path):
    folder = folder_with(tmp_path, "a", "{part},Upper Depot,3,,,,")
    bring_in(bench, read_import([folder]))
    line = kept(bench, StockLine)[0]
    use_part(bench, line.part_type_id, line.depot, 2)
    again = bring_in(bench, read_import([folder]))
    assert (again.added, again.already["stock"]) == ({}, 1)
    assert kept(bench, StockLine)[0].on_hand == 1


@pytest.mark.parametrize(
    ("row", "what"),
    [
        ("{part},Upper Depot,2,,,,", "with other content"),
        ("Chain nobody has,Upper Depot,2,,,,", "no part type"),
        ("{part},Harbour Depot,-1,,,,", "stock.csv row 2"),
        ("{part},Harbour Depot,,,,,", "stock.csv row 2"),
    ],
)
def test_what_does_not_fit_is_said_and_nothing_is_changed(bench, tmp_path, row, what):
    bring_in(bench, read_import([folder_with(tmp_path, "a", "{part},Upper Depot,3,,,,")]))
    with pytest.raises(WearlogError, match=what):
        bring_in(bench, read_import([folder_with(tmp_path, "b", row)]))
    assert [line.on_hand for line in kept(bench, StockLine)] == [3]


def test_a_part_stands_once_for_each_depot(bench, tmp_path):
    folder = folder_with(tmp_path, "a", "{part},Upper Depot,3,,,,", "{part},Upper Depot,4,,,,")
    with pytest.raises(WearlogError, match="twice"):
        bring_in(bench, read_import([folder]))
    assert kept(bench, StockLine) == ()
