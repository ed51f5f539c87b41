"""Both possibilities of a part whose readings and whose fleet do not agree, in words."""

from datetime import date
from gettext import gettext as _

from wearlog.drawing.number_words import chance_text, part_noun, share_text
from wearlog.wording import day_text
from wearlog.workshop.trend_snapshot import InDoubt, Possibility, TrendSnapshot, TwoWays


def two_ways_lines(snapshot: TrendSnapshot) -> tuple[str, ...]:
    """Return both possibilities and how far the forecast leans to either; nothing where all agrees.

    Parameters
    ----------
    snapshot : TrendSnapshot
        The trend of one part.
    """
    ways = snapshot.two_ways
    if ways is None:
        return ()
    own, fleet = (_possibility_text(one, snapshot.today) for one in (ways.own, ways.fleet))
    if ways.in_doubt is InDoubt.READING:
        return (
            _("If the questioned reading is right: {what}.").format(what=own),
            _("If it is wrong: {what}.").format(what=fleet),
            _reading_lean(ways),
        )
    nouns = part_noun(snapshot.measurand, 2)
    return (
        _own_text(ways, nouns, own),
        _("If it wears as they do: {what}.").format(what=fleet),
        _("The forecast takes {share} of the rate from its own readings.").format(
            share=share_text(ways.own_share)
        ),
    )


def _own_text(ways: TwoWays, nouns: str, what: str) -> str:
    if ways.times is None:
        return _("Its readings are not like those of similar {nouns}; if they are right: {what}.").format(
            nouns=nouns, what=what
        )
    return _("By its own readings it wears {times:.1f} times as fast as similar {nouns}: {what}.").format(
        times=ways.times, nouns=nouns, what=what
    )


def _reading_lean(ways: TwoWays) -> str:
    if ways.own_share < 0.5:
        return _("The forecast leans to the rest: the chance that it is wrong is {chance}.").format(
            chance=chance_text(1.0 - ways.own_share)
        )
    return _("The forecast leans to the reading: the chance that it is right is {chance}.").format(
        chance=chance_text(ways.own_share)
    )


def _possibility_text(one: Possibility, today: date) -> str:
    low, middle, high = (share_text(max(share, 0.0)) for share in one.allowance)
    if one.replace_by is None:
        by = _("no date in sight")
    elif one.replace_by <= today:
        by = _("due now")
    else:
        by = _("due by {day}").format(day=day_text(one.replace_by))
    return _("{middle} used (8 in 10: {low} to {high}), {by}").format(
        middle=middle, low=low.rpartition("\u2009")[0] or low, high=high, by=by
    )
