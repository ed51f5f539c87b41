"""Colours, shapes, type sizes and grid: read once from palette.toml, shared by screen and paper."""

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Any, Literal, TypeAlias

from PySide6.QtGui import QColor, QFont, QGuiApplication

from wearlog.fleet.state import State
from wearlog.resources import toml

Theme: TypeAlias = Literal["light", "dark", "paper"]


class Shape(StrEnum):
    """The shape of a state's mark; tells the states apart without colour."""

    RING = "ring"
    DISC = "disc"
    DIAMOND = "diamond"
    TRIANGLE = "triangle"
    CROSSED_SQUARE = "crossed square"


@dataclass(frozen=True, slots=True)
class StateLook:
    """How a state looks: `mark` fills shapes and bars, `text` writes its word; both ``#rrggbb``."""

    state: State
    shape: Shape
    mark: str
    text: str


@dataclass(frozen=True, slots=True)
class TypeSizes:
    """The four sizes of text at text scale 1, [px]."""

    caption: int
    body: int
    heading: int
    figure: int


@dataclass(frozen=True, slots=True)
class Palette:
    """The colours of one theme, each ``#rrggbb``.

    Attributes
    ----------
    ground, panel, raised
        The page, the fleet beside it, chosen rows and fields.
    ink, muted
        Text that matters and text that accompanies.
    hairline, outline
        Rules that order the page, and edges of controls and scales, which reach 3:1.
    accent, on_accent
        The one action of a page and what is written on it; focus, links.
    problem
        Sentences that tell of a problem.
    median, bands, bands_ahead
        The median and its 95, 80, 50 % bands, known and forecast.
    fleet, crossing
        Lines of similar parts; where the limit is reached.
    looks
        How each state looks.
    """

    theme: Theme
    ground: str
    panel: str
    raised: str
    ink: str
    muted: str
    hairline: str
    outline: str
    accent: str
    on_accent: str
    problem: str
    median: str
    bands: tuple[str, str, str]
    bands_ahead: tuple[str, str, str]
    fleet: str
    crossing: str
    looks: tuple[StateLook, ...]

    @property
    def is_dark(self) -> bool:
        """Whether light text stands on a dark ground."""
        return luminance(self.ground) < luminance(self.ink)

    def look(self, state: State) -> StateLook:
        """Return how a state looks."""
        return next(look for look in self.looks if look.state is state)


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour, 0 for black to 1 for white.

    References
    ----------
    W3C, Web Content Accessibility Guidelines 2.2, "relative luminance".

    Examples
    --------
    >>> luminance("#ffffff"), luminance("#000000")
    (1.0, 0.0)
    """
    shares = (int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5))
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(first: str, second: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21.

    References
    ----------
    W3C, Web Content Accessibility Guidelines 2.2, "contrast ratio".

    Examples
    --------
    >>> round(contrast("#000000", "#ffffff"), 6)
    21.0
    """
    dark, light = sorted((luminance(first), luminance(second)))
    return (light + 0.05) / (dark + 0.05)


@cache
def palette(theme: Theme = "light") -> Palette:
    """Return the palette of a theme; ``"paper"`` is light on white."""
    table = toml("palette.toml")
    own: dict[str, Any] = dict(table["light"]) | dict(table[theme])
    own["bands"] = tuple(own["bands"])
    own["bands_ahead"] = tuple(own["bands_ahead"])
    ground = "dark" if theme == "dark" else "light"
    looks = tuple(
        StateLook(state, Shape(table["states"][state]["shape"]), **table["states"][state][ground])
        for state in State
    )
    return Palette(theme=theme, looks=looks, **own)


@cache
def type_sizes() -> TypeSizes:
    """Return the four sizes of text."""
    return TypeSizes(**toml("palette.toml")["type_px"])


@cache
def grid_px() -> int:
    """Return the step of the grid on which pages are laid out, [px]."""
    return int(toml("palette.toml")["grid_px"])


TypeName: TypeAlias = Literal["caption", "body", "heading", "figure"]


def type_font(name: TypeName = "body", *, bold: bool = False, scale: float = 1.0) -> QFont:
    """Return the platform's font in one of the four sizes, with tabular numerals.

    Parameters
    ----------
    name : str
        Which of the four sizes.
    bold : bool
        Whether it is set bold.
    scale : float
        The seat's text scale; 1 is the plain size, [-].
    """
    font = QFont(QGuiApplication.font())
    font.setPixelSize(max(1, round(getattr(type_sizes(), name) * scale)))
    font.setBold(bold)
    # Figures under one another must line up; the tag is ignored by fonts without it.
    font.setFeature(QFont.Tag("tnum"), 1)
    # Letters drawn as one ("fi") can't be searched for in a PDF.
    font.setFeature(QFont.Tag("liga"), 0)
    return font


def colour(text: str, opacity: float = 1.0) -> QColor:
    """Return a colour of the palette to paint with."""
    paint = QColor(text)
    paint.setAlphaF(opacity)
    return paint
