"""Weather, riders and the distance of each day."""

from dataclasses import dataclass
from datetime import date, timedelta
from math import cos, exp, pi
from zlib import crc32

import numpy as np
from numpy.random import Generator

RECORDS_FROM = date(2023, 11, 20)
RECORDS_UNTIL = date(2026, 11, 20)
AS_OF = date(2026, 11, 23)
#: The roads begin earlier than the records, so that the fleet does not start with new parts.
ROADS_FROM = date(2023, 1, 2)


def stream(seed: int, *names: str) -> Generator:
    """Return a random stream of its own for each name, so that one vehicle never shifts another."""
    return np.random.default_rng([seed, *(crc32(name.encode()) for name in names)])


def days(first: date, last: date) -> list[date]:
    """Return every day from first to last, both included."""
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def weather(seed: int, first: date = ROADS_FROM, last: date = RECORDS_UNTIL) -> dict[date, float]:
    """Return how wet the roads were on each day, 0 dry to 1 wet; winters are wetter."""
    rng = stream(seed, "weather")
    deviation, wet = 0.0, {}
    for day in days(first, last):
        deviation = 0.85 * deviation + float(rng.normal(0.0, 0.11))
        season = 0.42 + 0.28 * cos(2 * pi * (day.timetuple().tm_yday - 15) / 365.25)
        wet[day] = min(max(season + deviation, 0.0), 1.0)
    return wet


def lot_factor(seed: int, part_type: str, lot: str) -> float:
    """Return how fast parts of one lot wear compared with others; one lot is known to be poor."""
    if part_type == "Chain 428 sealed 118 links" and lot == "25-A":
        return 1.45
    return exp(float(stream(seed, part_type, lot).normal(0.0, 0.07)))


@dataclass(slots=True)
class Riding:
    """How one vehicle is ridden: km of each day and how hard.

    Parameters
    ----------
    km_per_day
        Mean over all days of a year in which it is used.
    summer
        Share added in high summer and taken away in midwinter.
    """

    rng: Generator
    km_per_day: float
    summer: float
    drift: float = 0.0
    rider: float = 1.0
    half_year: tuple[int, int] = (0, 0)

    def km_on(self, day: date) -> float:
        """Return the distance of a day on which the vehicle is in use, [km]."""
        half = (day.year, day.month // 7)
        if half != self.half_year:
            self.half_year = half
            is_hard = float(self.rng.random()) < 0.12
            self.rider = 1.5 if is_hard else exp(float(self.rng.normal(0.0, 0.08)))
        self.drift = 0.995 * self.drift + float(self.rng.normal(0.0, 0.015))
        idle = float(self.rng.random())
        length = float(self.rng.gamma(2.2, 1 / 2.2))
        if idle < (0.55 if day.weekday() == 6 else 0.12):
            return 0.0
        season = 1 - self.summer * cos(2 * pi * (day.timetuple().tm_yday - 15) / 365.25)
        return 1.22 * self.km_per_day * season * exp(self.drift) * length
