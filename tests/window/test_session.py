"""What the pages share: the choice, word of changes, and the way back."""

from wearlog.fleet.problem import Problem, WearlogError
from wearlog.workshop.changes import Changes


def test_choosing_the_same_vehicle_again_says_nothing(session, qtbot):
    session.choose(3)
    with qtbot.assertNotEmitted(session.chosen):
        session.choose(3)
    with qtbot.waitSignal(session.chosen) as chosen:
        session.choose(4)
    assert chosen.args == [4]


def test_a_change_is_said_quietly_with_its_way_back(session, heard, qtbot):
    changes = Changes("Service of LR-017 saved", "c1", frozenset({17}))
    with qtbot.waitSignal(session.changed) as changed:
        session.tell_change(changes)
    said = heard.take_said()
    assert said.text == "Service of LR-017 saved"
    assert said.undo is not None
    assert changed.args[0] is changes


def test_what_can_not_be_undone_offers_no_way_back(session, heard, qtbot):
    with qtbot.waitSignal(session.changed):
        session.tell_change(Changes("Vehicle LR-017 added", "c1", can_undo=False))
    assert heard.take_said().undo is None


def test_a_change_of_another_seat_is_noticed_once(session, bench, qtbot):
    session.look_for_changes()
    qtbot.waitUntil(lambda: not session.background.is_busy())
    with bench.database.writing(by="Tomas Reed", at=bench.now(), what="Elsewhere") as records:
        records.set_setting("note", "1")
    with qtbot.waitSignal(session.changed) as changed:
        session.look_for_changes()
    assert changed.args[0].concern(5)
    assert not changed.args[0].can_undo
    with qtbot.assertNotEmitted(session.changed):
        session.look_for_changes()
        qtbot.waitUntil(lambda: not session.background.is_busy())


def test_an_own_change_is_not_taken_for_one_of_another_seat(session, bench, heard, qtbot):
    session.look_for_changes()
    qtbot.waitUntil(lambda: not session.background.is_busy())
    with bench.database.writing(by=bench.by, at=bench.now(), what="Note") as records:
        records.set_setting("note", "1")
    with qtbot.waitSignal(session.changed):
        session.tell_change(Changes("Note kept", "c1", can_undo=False))
    heard.take_said()
    with qtbot.assertNotEmitted(session.changed):
        session.look_for_changes()
        qtbot.waitUntil(lambda: not session.background.is_busy())


def test_a_lost_database_is_said_once_not_every_few_seconds(session, heard, qtbot, monkeypatch):
    def lost():
        raise WearlogError(Problem("The database does not answer."))

    monkeypatch.setattr(type(session.bench), "data_version", lambda _bench: lost())
    for _look in range(3):
        session.look_for_changes()
        qtbot.waitUntil(lambda: not session.background.is_busy())
    assert heard.take_problem().problems[0].what == "The database does not answer."


def test_a_bug_on_a_worker_becomes_a_report(session, heard, qtbot, caplog):
    def work(progress):
        raise ZeroDivisionError("no links")

    session.background.run(work, key="x", done=lambda _r: None)
    qtbot.waitUntil(lambda: bool(heard.bugs))
    report = heard.take_bug()
    assert report.startswith("wearlog ")
    assert "ZeroDivisionError: no links" in report
    # It is in the log too, whole.
    assert "no links" in caplog.text
