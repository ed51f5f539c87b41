"""Finds the part that a word means among those of a vehicle."""

from gettext import gettext as _

from wearlog.fleet.problem import Problem, ProblemKind, WearlogError
from wearlog.workshop.trend_snapshot import TrendChoice, TrendSnapshot


def choice_named(snapshot: TrendSnapshot, word: str) -> TrendChoice:
    """Return the part whose stage, name or measurand holds a word; one that still runs goes first.

    Raises
    ------
    WearlogError
        If there is none; those that there are, are named.
    """
    texts = [
        f"{choice.stage_name}, {choice.part_text}, {choice.measurand.value}" for choice in snapshot.choices
    ]
    fitting = [
        choice
        for choice, text in zip(snapshot.choices, texts, strict=True)
        if word.casefold() in text.casefold()
    ]
    if not fitting:
        raise WearlogError(
            Problem(
                _("{vehicle} has no part {part} with a trend.").format(vehicle=snapshot.tag, part=word),
                "",
                _("There are: {parts}.").format(parts="; ".join(texts)),
                kind=ProblemKind.NOT_FOUND,
            )
        )
    return next((choice for choice in fitting if choice.is_current), fitting[0])
