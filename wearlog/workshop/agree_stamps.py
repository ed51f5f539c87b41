"""What the stamps of a drop-in gauge mean as elongation; makers stamp three different things."""

import re
from dataclasses import dataclass
from enum import StrEnum
from gettext import gettext as _

from wearlog.fleet.problem import Findings, Problem, WearlogError

#: No gauge is made for more, [-].
MOST_STAMP = 0.06


class StampMeaning(StrEnum):
    """What the number on a gauge stands for."""

    PERCENT = "percent"
    MM_PER_PITCH = "mm per pitch"
    SHARE_OF_LIMIT = "percent of the wear allowance"


@dataclass(frozen=True, slots=True)
class StampReading:
    """How the stamps of a gauge are to be read.

    `pitch_mm` is needed where a stamp is in mm per pitch, `limit` (the elongation at the service limit, [-])
    where it is a share of the allowance.
    """

    meaning: StampMeaning = StampMeaning.PERCENT
    pitch_mm: float | None = None
    limit: float | None = None

    def elongation(self, stamp: float) -> float:
        """Return what a stamp means as elongation, [-].

        Raises
        ------
        WearlogError
            If the pitch or the limit is missing.

        Examples
        --------
        >>> round(StampReading(StampMeaning.MM_PER_PITCH, pitch_mm=12.7).elongation(0.075), 5)
        0.00591
        >>> StampReading(StampMeaning.SHARE_OF_LIMIT, limit=0.01).elongation(75)
        0.0075
        """
        if self.meaning is StampMeaning.MM_PER_PITCH:
            if not self.pitch_mm or self.pitch_mm <= 0.0:
                raise WearlogError(
                    Problem(
                        _("A stamp in mm per pitch says nothing without the pitch."),
                        _("stamps"),
                        _("Give the pitch of the chains it is for, for example 12.7 mm."),
                    )
                )
            return round(stamp / self.pitch_mm, 7)
        if self.meaning is StampMeaning.SHARE_OF_LIMIT:
            if not self.limit or self.limit <= 0.0:
                raise WearlogError(
                    Problem(
                        _("A stamp in percent of the allowance says nothing without the limit."),
                        _("stamps"),
                        _("Give the elongation at which the gauge stands at 100, for example 1 %."),
                    )
                )
            return round(stamp / 100.0 * self.limit, 7)
        return round(stamp / 100.0, 7)


def read_stamps(text: str, reading: StampReading) -> tuple[tuple[str, float], ...]:
    """Return the stamps of a gauge and what each means as elongation, [-].

    Parameters
    ----------
    text
        The stamps as they stand on the gauge: ``"0.5 0.75 1.0"``; or each with its meaning:
        ``"A = 0.5 %; B = 0.8 %"``.
    reading
        What a bare stamp stands for.

    Raises
    ------
    WearlogError
        If a stamp can't be read, comes twice or means nothing a chain can have.

    Examples
    --------
    >>> read_stamps("0.075 0.1", StampReading(StampMeaning.MM_PER_PITCH, pitch_mm=12.7))
    (('0.075', 0.0059055), ('0.1', 0.007874))
    >>> read_stamps("A = 0.5 %; B = 0.8", StampReading())
    (('A', 0.005), ('B', 0.008))
    """
    findings = Findings()
    found: list[tuple[str, float]] = []
    pieces = re.split(r"\s*;\s*", text.strip()) if "=" in text else re.split(r"[;\s]+", text.strip())
    for piece in filter(None, pieces):
        name, equals, meaning = (part.strip() for part in piece.partition("="))
        number = _number(meaning.removesuffix("%").strip() if equals else name.removesuffix("%").strip())
        if number is None:
            findings.add(
                _("“{stamp}” is not a stamp that can be read.").format(stamp=piece),
                _("stamps"),
                _("Type the numbers on the gauge, for example 0.5 0.75, or A = 0.5 %; B = 0.8 %."),
            )
            continue
        value = round(number / 100.0, 7) if equals else reading.elongation(number)
        if not 0.0 < value <= MOST_STAMP:
            findings.add(
                _("The stamp {stamp} would mean {value:.3g} %, which no gauge is made for.").format(
                    stamp=name, value=100 * value
                ),
                _("stamps"),
                _("Check the number, and whether the stamps are percent or mm per pitch."),
            )
        elif any(name == other for other, _value in found):
            findings.add(_("The stamp {stamp} comes twice.").format(stamp=name), _("stamps"), "")
        found.append((name, value))
    findings.raise_if_any()
    return tuple(sorted(found, key=lambda pair: pair[1]))


def _number(text: str) -> float | None:
    if not re.fullmatch(r"\d+(?:[.,]\d+)?|[.,]\d+", text):
        return None
    return float(text.replace(",", "."))
