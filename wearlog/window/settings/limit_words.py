"""Limits in words: their row in the list, and what stands under it."""

from gettext import gettext as _
from gettext import ngettext

from wearlog.drawing.number_words import measurand_text, part_noun, share_text
from wearlog.fleet.limit import Limit
from wearlog.fleet.quantity import ShownUnits
from wearlog.fleet.reading import Measurand
from wearlog.window.settings.model import LedgerRow
from wearlog.window.settings.value_words import capital, class_text, exact_text, set_by_text
from wearlog.workshop.agree_snapshot import LimitLine

HEADS = (
    _("What"),
    _("Of which parts"),
    _("As new"),
    _("Limit"),
    _("Plan at"),
    _("Stop use"),
    _("Parts"),
    _("Set by"),
    _("Source"),
)
NUMBERS = frozenset({2, 3, 4, 5, 6})
#: Widths, [px] at plain text size; 0 shares the rest.
WIDTHS = (124, 0, 80, 72, 60, 72, 44, 80, 128)
#: From which width of the list on a column is shown.
NEEDED = {8: 760, 4: 640, 2: 560, 7: 520}


def limit_row(line: LimitLine, shown: ShownUnits) -> LedgerRow:
    """Return the row of a limit."""
    limit = line.limit
    quantity = limit.measurand.quantity
    return LedgerRow(
        key=limit.id,
        cells=(
            measurand_text(limit.measurand),
            scope_text(line),
            exact_text(limit.as_new, quantity, shown),
            exact_text(limit.service_limit, quantity, shown),
            share_text(limit.plan_share),
            exact_text(limit.stop_use_limit, quantity, shown),
            str(line.governs),
            set_by_text(line.is_default),
            limit.source,
        ),
        more=f"{limit.note} {limit.measurand.value}",
    )


def scope_text(line: LimitLine) -> str:
    """Return which parts a limit is for."""
    limit = line.limit
    words = [f"{class_text(limit.wear_class)} {limit.designation}".strip()]
    words += filter(None, (limit.model, limit.stage_name, line.vehicle_tag))
    return ", ".join(words)


def limit_title(line: LimitLine) -> str:
    """Return what a limit is about."""
    return f"{capital(measurand_text(line.limit.measurand))}, {scope_text(line)}"


def limit_sentences(line: LimitLine, shown: ShownUnits) -> tuple[str, ...]:
    """Return what is to be known of a limit, sentence by sentence."""
    limit = line.limit
    source = _("Source: {source}.").format(source=limit.source.rstrip("."))
    if line.is_default:
        source = _("wearlog starts with this; the vehicle maker’s limit comes first.") + " " + source
    elif line.default is not None:
        source += " " + _("wearlog starts with {value}.").format(value=values_text(line.default, shown))
    return tuple(filter(None, (_governs_text(line), source, limit.note)))


def values_text(limit: Limit, shown: ShownUnits) -> str:
    """Return the values of a limit in a few words."""
    quantity = limit.measurand.quantity
    text = exact_text(limit.service_limit, quantity, shown)
    if limit.stop_use_limit is not None:
        stop = exact_text(limit.stop_use_limit, quantity, shown)
        return _("{limit}, stop use at {stop}").format(limit=text, stop=stop)
    return text


def _governs_text(line: LimitLine) -> str:
    limit, n = line.limit, line.governs
    if limit.measurand is Measurand.SLACK:
        text = ngettext("Governs {n} stage in use", "Governs {n} stages in use", n)
        return text.format(n=n) + "."
    if not n:
        return _("Governs no part in use.")
    noun = part_noun(limit.measurand, n)
    text = _("Governs {n} {parts} in use").format(n=n, parts=noun)
    if line.tightened:
        text += _("; on {n} of them the largest sprocket sets a tighter limit").format(n=line.tightened)
    return text + "."
