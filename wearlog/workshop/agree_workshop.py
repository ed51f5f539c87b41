"""What the workshop as a whole agreed on, and its database: facts and back-ups."""

from gettext import gettext as _
from pathlib import Path

from wearlog.fleet.fitting import Installation
from wearlog.fleet.meter import MeterEntry
from wearlog.fleet.parts import Part, PartType
from wearlog.fleet.problem import Findings
from wearlog.fleet.progress import Progress, Silent
from wearlog.fleet.reading import Instrument, Reading
from wearlog.fleet.service import Visit
from wearlog.fleet.vehicle import Vehicle
from wearlog.planning.states import Policy
from wearlog.store.migrations import newest_revision
from wearlog.store.records import Records
from wearlog.workshop.agree_snapshot import DatabaseFacts
from wearlog.workshop.bench import POLICY_SETTINGS, Bench, policy_of
from wearlog.workshop.changes import Changes

#: Least and most of what can be agreed on, by the field of the policy; the last three in days.
LEAST_AND_MOST: dict[str, tuple[float, float]] = {
    "caution_level": (0.001, 0.5),
    "window_days": (0, 90),
    "plan_ahead_days": (0, 365),
    "horizon_days": (28, 3650),
}


def look_at_policy(policy: Policy) -> None:
    """Refuse what can't be agreed on.

    Raises
    ------
    WearlogError
        All that is out of range.
    """
    findings = Findings()
    low, high = LEAST_AND_MOST["caution_level"]
    if not low <= policy.caution_level <= high:
        findings.add(
            _("A caution level of {level:.3g} % is out of range.").format(level=100 * policy.caution_level),
            _("caution level"),
            _("Give a chance between 0.1 % and 50 %."),
        )
    names = {
        "window_days": _("visit window"),
        "plan_ahead_days": _("plan ahead"),
        "horizon_days": _("horizon"),
    }
    for name, words in names.items():
        least, most = LEAST_AND_MOST[name]
        days = getattr(policy, name)
        if not least <= days <= most:
            findings.add(
                _("{n} days are out of range.").format(n=days),
                words,
                _("Give between {least:.0f} and {most:.0f} days.").format(least=least, most=most),
            )
    findings.raise_if_any()


def change_policy(bench: Bench, policy: Policy) -> Changes:
    """Agree on another caution level, visit window, time to plan ahead or horizon; what differs is audited.

    Raises
    ------
    WearlogError
        All that is out of range.
    """
    look_at_policy(policy)
    _write_down(bench)
    what = _("Workshop settings changed")
    with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
        for field, setting in POLICY_SETTINGS.items():
            records.set_setting(setting, _text(getattr(policy, field)))
        change_id = records.change_id
    return Changes(what, change_id)


def _text(value: float) -> str:
    return repr(value)


def _write_down(bench: Bench) -> None:
    """Write down what counts as long as nobody agreed on anything: only then can a change be taken back."""
    with bench.database.reading() as records:
        missing = [field for field, name in POLICY_SETTINGS.items() if records.setting(name) is None]
        counts = policy_of(records)
    if missing:
        what = _("Workshop settings as they stood")
        with bench.database.writing(by=bench.by, at=bench.now(), what=what) as records:
            for field in missing:
                if records.setting(POLICY_SETTINGS[field]) is None:
                    records.set_setting(POLICY_SETTINGS[field], _text(getattr(counts, field)))


# --- the database -----------------------------------------------------------------------------------------


def database_facts(bench: Bench) -> DatabaseFacts:
    """Return where the data are and how much there is."""
    with bench.database.reading() as records:
        return facts_of(bench, records)


def facts_of(bench: Bench, records: Records) -> DatabaseFacts:
    """Return where the data are and how much one transaction sees."""
    address = bench.database.address
    file = Path(address)
    is_file = "://" not in address and file.is_file()
    size = None
    if is_file:
        # What was written last may still stand in the log beside the file.
        beside = file.with_name(file.name + "-wal")
        size = file.stat().st_size + (beside.stat().st_size if beside.exists() else 0)
    return DatabaseFacts(
        address=address,
        is_file=is_file,
        size_bytes=size,
        schema=newest_revision(),
        counts=(
            (_("vehicles"), records.count(Vehicle)),
            (_("part types"), records.count(PartType)),
            (_("parts"), records.count(Part)),
            (_("installations"), records.count(Installation, live=True)),
            (_("readings"), records.count(Reading, live=True)),
            (_("meter entries"), records.count(MeterEntry, live=True)),
            (_("service visits"), records.count(Visit, live=True)),
            (_("instruments"), records.count(Instrument)),
        ),
    )


def back_up_database(bench: Bench, target: Path, progress: Progress | None = None) -> Path:
    """Copy the database to a new file while work goes on, check the copy, and return where it is.

    Raises
    ------
    WearlogError
        If the file exists or can't be written, or the database is on a server.
    """
    said = progress or Silent()
    return bench.database.back_up(
        target, lambda done, total: said.step(done, total, _("Copying the database"))
    )
