"""Rows are replaced so that Qt hears of no more than what differs."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QAbstractListModel, QModelIndex, Qt
from PySide6.QtTest import QAbstractItemModelTester

from wearlog.window.rows import MOST_PLACES, take_rows


class Words(QAbstractListModel):
    def __init__(self):
        super().__init__()
        self.rows: list[tuple[int, str]] = []

    def rowCount(self, parent=QModelIndex()):  # noqa: B008
        return 0 if parent.isValid() else len(self.rows)

    def data(self, index, role=Qt.ItemDataRole.DisplayRole):
        return self.rows[index.row()][1] if role == Qt.ItemDataRole.DisplayRole else None

    def take(self, *rows):
        take_rows(self, self.rows, rows, lambda row: row[0])


@pytest.fixture
def words(qtmodeltester):
    model = Words()
    qtmodeltester.check(model)
    return model


def test_a_row_that_moved_is_the_only_one_taken_out(words, qtbot):
    words.take((1, "a"), (2, "b"), (3, "c"), (4, "d"))
    gone = []
    words.rowsRemoved.connect(lambda _parent, first, last: gone.append((first, last)))
    with qtbot.assertNotEmitted(words.modelReset):
        words.take((2, "b"), (3, "c"), (4, "d"), (1, "a"))
    assert gone == [(0, 0)]


def test_a_list_that_differs_in_many_places_is_laid_out_at_once(words, qtbot):
    words.take(*((n, "x") for n in range(4 * MOST_PLACES)))
    with qtbot.waitSignal(words.modelReset):
        words.take(*((n, "x") for n in range(0, 4 * MOST_PLACES, 2)))


@given(
    st.lists(
        st.lists(st.tuples(st.integers(0, 12), st.sampled_from("ab")), unique_by=lambda r: r[0]), max_size=6
    )
)
def test_any_sequence_of_lists_is_shown_and_every_step_is_told_to_qt(lists):
    model = Words()
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Fatal)
    for rows in lists:
        model.take(*rows)
        assert model.rows == rows
    tester.deleteLater()
