"""The state of the torque page."""

from dataclasses import replace

import pytest

from tests.makers.torque import AXLE, torque_of
from wearlog.fleet.problem import DoubtKind
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.torque import TorqueWork
from wearlog.window.torque.model import TorqueModel
from wearlog.workshop.torque_snapshot import TorqueDraft, TorqueEntry

SPROCKET, LINKAGE = 1, 3


@pytest.fixture
def model(qapp):
    model = TorqueModel(ShownUnits())
    model.show(torque_of(), None, "Ines Falk")
    return model


def test_what_is_typed_is_kept_letter_by_letter_and_understood(model):
    model.type_torque(AXLE, "38 lbf.ft")
    entry = model.entry(AXLE)
    assert entry.text == "38 lbf.ft"
    # 38 lbf.ft x 1.3558 N.m, NIST SP 811, appendix B.8.
    assert entry.values_nm == pytest.approx((51.52,), abs=0.01)
    assert model.doubts(AXLE) == ()


def test_what_can_not_be_understood_stays_with_its_problem(model):
    model.type_torque(AXLE, "12 Hz")
    assert model.entry(AXLE).text == "12 Hz"
    assert "frequency" in model.problem(AXLE).what
    model.type_torque(AXLE, "0")
    assert "above 0" in model.problem(AXLE).what
    model.type_torque(AXLE, "52")
    assert model.problem(AXLE) is None


def test_each_bolt_may_have_its_own_value(model):
    model.type_torque(SPROCKET, "12 12 12.4 12 12")
    assert model.entry(SPROCKET).values_nm == (12.0, 12.0, 12.4, 12.0, 12.0)
    assert model.doubts(SPROCKET) == ()


def test_an_answered_question_is_not_asked_again_until_the_value_changes(model):
    model.type_torque(AXLE, "62")
    (doubt,) = model.doubts(AXLE)
    model.keep_value(AXLE, doubt)
    assert model.doubts(AXLE) == ()
    model.type_torque(AXLE, "63")
    assert [doubt.kind for doubt in model.doubts(AXLE)] == [DoubtKind.UNUSUAL]


def test_taking_the_other_unit_writes_it_beside_the_number(model):
    model.type_torque(AXLE, "40")
    assert model.doubts(AXLE)[0].kind is DoubtKind.OTHER_UNIT
    model.use_unit(AXLE, "lbf.ft")
    assert model.entry(AXLE).text == "40 lbf.ft"
    assert model.doubts(AXLE) == ()


def test_bare_numbers_stand_in_the_unit_of_the_seat(qapp):
    model = TorqueModel(ShownUnits(torque="lbf.ft"))
    model.show(torque_of(), None, "Tilda")
    model.type_torque(AXLE, "38")
    assert model.entry(AXLE).values_nm == pytest.approx((51.52,), abs=0.01)


def test_bare_numbers_keep_their_unit_when_the_seat_changes_its_own(model):
    model.type_torque(AXLE, "52")
    model.set_shown(ShownUnits(torque="lbf.ft"))
    assert model.entry(AXLE).text == "52 N.m"
    assert model.entry(AXLE).values_nm == (52.0,)


def test_a_joint_that_waits_for_its_re_check_is_re_checked(qapp):
    model = TorqueModel(ShownUnits())
    model.show(torque_of((AXLE, 30, 52.0)), None, "Tilda")
    assert model.entry(AXLE).work is TorqueWork.RECHECKED
    assert model.entry(LINKAGE).work is TorqueWork.TIGHTENED


def test_the_marker_line_needs_no_torque_and_a_torque_no_marker_line(model):
    model.set_work(SPROCKET, TorqueWork.MARKER_SEEN)
    assert model.has_torques
    model.type_torque(SPROCKET, "12")
    assert model.entry(SPROCKET).work is TorqueWork.TIGHTENED
    model.set_work(SPROCKET, TorqueWork.MARKER_SEEN)
    assert model.entry(SPROCKET).text == ""


def test_kinds_of_work_come_round(model):
    seen = []
    for _turn in TorqueWork:
        seen.append(model.entry(AXLE).work)
        model.turn_work(AXLE)
    assert set(seen) == set(TorqueWork)
    assert model.entry(AXLE).work is seen[0]


def test_a_wrench_past_its_calibration_is_questioned_with_every_torque(model):
    model.type_torque(AXLE, "52")
    model.set_wrench(2)
    assert [doubt.kind for doubt in model.doubts(AXLE)] == [DoubtKind.CALIBRATION_DUE]
    model.set_wrench(1)
    assert model.doubts(AXLE) == ()


def test_a_meter_that_can_not_be_understood_is_a_problem_not_a_value(model):
    model.type_meter("5o10")
    assert model.meter_problem is not None
    model.type_meter("5010")
    assert model.meter_problem is None
    assert model.draft.meter_value == 5010.0


def test_a_sheet_left_half_filled_comes_back_without_fasteners_that_are_gone(qapp):
    model = TorqueModel(ShownUnits())
    snapshot = torque_of()
    kept = TorqueDraft(
        7,
        snapshot.today,
        by="Tilda",
        entries={AXLE: TorqueEntry("52", (52.0,)), 99: TorqueEntry("10", (10.0,))},
    )
    model.show(snapshot, kept, "Ines Falk")
    assert model.is_restored
    assert model.draft.by == "Tilda"
    assert set(model.draft.entries) == {AXLE}


def test_a_sheet_read_anew_keeps_what_was_typed(model, qtbot):
    model.type_torque(AXLE, "52")
    with qtbot.waitSignal(model.opened):
        model.show_again(replace(torque_of(), use_now=5100.0), "Ines Falk")
    assert model.entry(AXLE).text == "52"
    assert not model.is_restored


def test_every_change_asks_for_the_draft_to_be_kept(model, qtbot):
    with qtbot.waitSignal(model.draft_changed):
        model.type_torque(AXLE, "52")
    with qtbot.waitSignal(model.draft_changed):
        model.set_by("Tilda")
    with qtbot.assertNotEmitted(model.draft_changed):
        model.type_torque(AXLE, "52")
