"""Interval rules in words: their row in the list, and what stands under it."""

from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.number_words import task_text, use_text
from wearlog.fleet.parts import DriveKind
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.service import IntervalRule
from wearlog.window.settings.model import LedgerRow
from wearlog.window.settings.value_words import NONE, capital, set_by_text, vehicle_kind_text
from wearlog.workshop.agree_snapshot import RuleLine

HEADS = (_("Task"), _("Of which stages"), _("Every"), _("First"), _("Stages"), _("Set by"), _("Source"))
NUMBERS = frozenset({4})
WIDTHS = (108, 0, 176, 152, 52, 80, 116)
NEEDED = {6: 820, 3: 600, 5: 520}


def rule_row(line: RuleLine, shown: ShownUnits) -> LedgerRow:
    """Return the row of an interval rule."""
    rule = line.rule
    return LedgerRow(
        key=rule.id,
        cells=(
            task_text(rule.task),
            scope_text(line),
            every_text(rule, shown, is_short=True),
            first_text(rule, shown, is_short=True),
            str(line.governs),
            set_by_text(line.is_default),
            rule.source,
        ),
        more=rule.note,
    )


def scope_text(line: RuleLine) -> str:
    """Return which stages a rule is for."""
    rule = line.rule
    drive = {DriveKind.CHAIN: _("chain"), DriveKind.BELT: _("belt"), None: ""}[rule.drive]
    kind = vehicle_kind_text(rule.vehicle_kind) if rule.vehicle_kind is not None else ""
    words = [word for word in (kind, drive, rule.stage_name, line.vehicle_tag) if word]
    return ", ".join(words) or _("every stage")


def every_text(rule: IntervalRule, shown: ShownUnits, *, is_short: bool = False) -> str:
    """Return how often a task comes round."""
    if rule.is_after_fitting:
        return _("once")
    return _spans(rule.every_km, rule.every_h, rule.every_days, shown, is_short=is_short)


def first_text(rule: IntervalRule, shown: ShownUnits, *, is_short: bool = False) -> str:
    """Return when a task comes the first time after fitting."""
    return _spans(rule.first_km, rule.first_h, rule.first_days, shown, is_short=is_short)


def _spans(
    km: float | None, hours: float | None, days: int | None, shown: ShownUnits, *, is_short: bool
) -> str:
    words = []
    if km is not None:
        words.append(use_text(km, "km", shown))
    if hours is not None:
        words.append(use_text(hours, "h", shown))
    if days is not None:
        text = _("{n}\u2009d") if is_short else ngettext("{n}\u2009day", "{n}\u2009days", days)
        words.append(text.format(n=days))
    return (" / " if is_short else _(" or ")).join(words) or NONE


def rule_title(line: RuleLine) -> str:
    """Return what a rule is about."""
    return f"{capital(task_text(line.rule.task))}, {scope_text(line)}"


def rule_sentences(line: RuleLine, shown: ShownUnits) -> tuple[str, ...]:
    """Return what is to be known of a rule, sentence by sentence."""
    rule = line.rule
    if rule.is_after_fitting:
        when = _("Once, {first} after a chain or belt was fitted, whichever comes first.").format(
            first=first_text(rule, shown)
        )
    else:
        when = _("Every {every}, whichever comes first; the vehicle’s meter tells which count.").format(
            every=every_text(rule, shown)
        )
    asks = ngettext("Asked of {n} stage in use.", "Asked of {n} stages in use.", line.governs)
    source = _("Source: {source}.").format(source=rule.source.rstrip("."))
    if line.is_default:
        source = _("wearlog starts with this; the vehicle maker’s interval comes first.") + " " + source
    return tuple(filter(None, (f"{when} {asks.format(n=line.governs)}", source, rule.note)))
