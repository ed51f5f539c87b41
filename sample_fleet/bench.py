"""How the invented workshop takes a reading: the typed spots, what was really there, and the stated error."""

from dataclasses import dataclass
from math import sqrt

from numpy.random import Generator

from sample_fleet.catalogue import INSTRUMENTS, Instrument, PartType

#: Scatter of laying the jaws or the rule to the chain, as elongation, beyond what the instrument states.
HANDLING = 0.0002
#: Hand force and stance when slack is measured; the contact line of a tooth; the adjuster mark.
U_SLACK_MM = 1.5
U_TOOTH_MM = 0.06
U_ADJUSTER_MM = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A reading as typed, and what stands behind it.

    `expected` is what a faultless hand would have read with this instrument, its bias included; `u` the
    stated standard error of one spot; `found` the value the mechanic goes by, the noted bias taken off.
    """

    method: str
    spots: str
    expected: float
    u: float
    found: float
    pitches: int | None = None
    instrument: str = ""


def inch_fraction(length_mm: float) -> str:
    """Return a length to the nearest 1/32 in, as read from a rule.

    Examples
    --------
    >>> inch_fraction(255.5875)
    '10 1/16 in'
    """
    steps = round(length_mm / 25.4 * 32)
    whole, rest = divmod(steps, 32)
    if rest == 0:
        return f"{whole} in"
    below = 32
    while rest % 2 == 0:
        rest, below = rest // 2, below // 2
    return f"{whole} {rest}/{below} in"


def rounded(value: float, step: float) -> str:
    """Return a value to the nearest step, with as many decimals as the step has."""
    decimals = len(f"{step:.6f}".rstrip("0").partition(".")[2])
    return f"{round(value / step) * step:.{decimals}f}"


def _spot_values(
    rng: Generator, elongation: float, as_new: float, unevenness: tuple[float, ...]
) -> list[float]:
    sections = [as_new + (elongation - as_new) * (1 - less) for less in unevenness]
    start = int(rng.integers(len(sections)))
    return sections[start:] + sections[:start]


def by_caliper(
    rng: Generator, name: str, chain: PartType, elongation: float, as_new: float, sections: tuple[float, ...],
    pitches: int,
) -> Taken:  # fmt: skip
    """Measure inside and outside over a number of pitches, at each section of the chain."""
    tool = INSTRUMENTS[name]
    nominal, roller = pitches * chain.pitch_mm, chain.roller_mm or 0.0
    typed, means = [], []
    for value in _spot_values(rng, elongation, as_new, sections):
        length = nominal * (1 + value + float(rng.normal(0.0, HANDLING)))
        inside = rounded(length - roller + float(rng.normal(0.0, tool.u)), tool.resolution)
        outside = rounded(length + roller + float(rng.normal(0.0, tool.u)), tool.resolution)
        typed.append(f"{inside}/{outside}")
        means.append((float(inside) + float(outside)) / 2)
    u = sqrt((tool.u**2 + tool.resolution**2 / 12) / 2 / nominal**2 + HANDLING**2)
    return Taken(
        method="inside and outside", spots="; ".join(typed), expected=elongation, u=u,
        found=max(means) / nominal - 1, pitches=pitches, instrument=name,
    )  # fmt: skip


def by_length(
    rng: Generator, name: str, method: str, chain: PartType, elongation: float, as_new: float,
    sections: tuple[float, ...], pitches: int, in_inches: bool = False,
) -> Taken:  # fmt: skip
    """Measure a length over pitches with a rule, a tape or one side of the caliper's jaws."""
    tool = INSTRUMENTS[name]
    nominal = pitches * chain.pitch_mm
    typed, lengths = [], []
    for value in _spot_values(rng, elongation, as_new, sections):
        length = nominal * (1 + value + float(rng.normal(0.0, HANDLING)))
        length += tool.true_bias + float(rng.normal(0.0, tool.u))
        if in_inches:
            typed.append(inch_fraction(length))
            lengths.append(round(length / 25.4 * 32) / 32 * 25.4)
        else:
            typed.append(rounded(length, tool.resolution))
            lengths.append(float(typed[-1]))
    u = sqrt((tool.u**2 + tool.resolution**2 / 12) / nominal**2 + HANDLING**2)
    return Taken(
        method=method, spots="; ".join(typed), expected=elongation + tool.true_bias / nominal, u=u,
        found=(max(lengths) - tool.noted_bias) / nominal - 1, pitches=pitches, instrument=name,
    )  # fmt: skip


def by_gauge(rng: Generator, name: str, elongation: float) -> Taken:
    """Drop a gauge in at the most worn section: the last stamp that goes in, the first that stays out."""
    tool = INSTRUMENTS[name]
    shown = elongation + tool.true_bias + float(rng.normal(0.0, tool.u))
    inside = [(stamp, meaning) for stamp, meaning in tool.stamps if shown >= meaning]
    outside = [(stamp, meaning) for stamp, meaning in tool.stamps if shown < meaning]
    typed = [f"{stamp} in" for stamp, _ in inside[-1:]] + [f"{stamp} out" for stamp, _ in outside[:1]]
    low = inside[-1][1] if inside else 0.0
    high = outside[0][1] if outside else low + 0.003
    return Taken(
        method="drop-in gauge", spots="; ".join(typed), expected=elongation + tool.true_bias, u=tool.u,
        found=max((low + high) / 2 - tool.noted_bias, 0.0076 if low >= 0.0075 else 0.0), instrument=name,
    )  # fmt: skip


def read_off(rng: Generator, elongation: float) -> Taken:
    """Read a percentage off a slide on the bench, to 0.05 %."""
    shown = rounded((elongation + float(rng.normal(0.0, 0.0004))) * 100, 0.05)
    return Taken(
        method="elongation read off", spots=f"{shown} %", expected=elongation, u=0.00043,
        found=float(shown) / 100,
    )  # fmt: skip


def by_hand(
    rng: Generator, values_mm: tuple[float, ...], u: float, step: float, instrument: str = ""
) -> Taken:
    """Measure lengths directly: slack at the tightest and loosest place, teeth, an adjuster's mark."""
    typed = [rounded(max(value + float(rng.normal(0.0, u)), 0.0), step) for value in values_mm]
    return Taken(
        method="direct", spots="; ".join(typed), expected=values_mm[0], u=sqrt(u**2 + step**2 / 12),
        found=float(typed[0]), instrument=instrument,
    )  # fmt: skip


def by_frequency(rng: Generator, tension_n: float, span_mm: float, mass_kg_per_m: float) -> Taken:
    """Pluck the belt at three places of its turn; the tightest reads highest. `expected` is in Hz."""
    tool = INSTRUMENTS["Span frequency meter"]
    tightest = sqrt(tension_n / mass_kg_per_m) / (2 * span_mm / 1000)
    looser = (0.0, float(rng.uniform(0.0, 0.02)), float(rng.uniform(0.0, 0.03)))
    typed = [
        rounded(tightest * (1 - less) + float(rng.normal(0.0, tool.u)), tool.resolution) for less in looser
    ]
    order = [int(i) for i in rng.permutation(3)]
    highest = max(float(value) for value in typed)
    return Taken(
        method="span frequency", spots="; ".join(f"{typed[i]} Hz" for i in order), expected=tightest,
        u=sqrt(tool.u**2 + tool.resolution**2 / 12), instrument=tool.name,
        found=4 * mass_kg_per_m * (span_mm / 1000) ** 2 * highest**2,
    )  # fmt: skip


def by_force(rng: Generator, tension_n: float, span_mm: float) -> Taken:
    """Press the mid-span down by a small way and read the force. `expected` is in N at the plunger."""
    tool = INSTRUMENTS["Belt force gauge"]
    way_mm = max(round(span_mm / 50), 4)
    force = 2 * tension_n * way_mm / sqrt(way_mm**2 + (span_mm / 2) ** 2)
    typed = rounded(force + float(rng.normal(0.0, tool.u)), tool.resolution)
    return Taken(
        method="deflection force", spots=f"{typed} N / {way_mm} mm", expected=force,
        u=sqrt(tool.u**2 + tool.resolution**2 / 12), instrument=tool.name,
        found=float(typed) * sqrt(way_mm**2 + (span_mm / 2) ** 2) / (2 * way_mm),
    )  # fmt: skip


def by_eye(grade: int) -> Taken:
    """Grade a condition from 0 to 3."""
    return Taken(method="grade by eye", spots=str(grade), expected=float(grade), u=0.0, found=float(grade))


def tool_of(name: str) -> Instrument:
    """Return an instrument by its name."""
    return INSTRUMENTS[name]
