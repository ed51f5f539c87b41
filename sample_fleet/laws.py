"""The true wear laws of the invented fleet.

Wear grows in gamma-distributed steps, so it never falls. The mean step follows the circumstances of the day;
nothing here knows how a forecast would describe it.
"""

from dataclasses import dataclass, field
from math import exp, log

from numpy.random import Generator

from sample_fleet import catalogue


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainLaw:
    """How one wear class of chain elongates.

    `percent_per_1000_km` is the mean on a dry road, freshly lubricated; `wet` and `dry_running` are what a
    fully wet day and a chain long without lubricant add, `sprocket` what worn sprockets add.
    `clump` is the size of a typical wear step as a share of the limit.
    """

    percent_per_1000_km: float
    limit: float
    wet: float
    dry_running: float
    dry_after_km: float
    sprocket: float
    bedding_in: float
    bedding_in_km: float
    part_spread: float
    clump: float = 0.012


#: Limits as the workshop uses them, elongation as a fraction.
CHAIN_LAWS: dict[str, ChainLaw] = {
    catalogue.SEALED: ChainLaw(
        percent_per_1000_km=0.036, limit=0.010, wet=0.6, dry_running=0.25, dry_after_km=900, sprocket=0.4,
        bedding_in=0.0005, bedding_in_km=320, part_spread=0.22,
    ),
    catalogue.OPEN: ChainLaw(
        percent_per_1000_km=0.105, limit=0.017, wet=0.9, dry_running=0.7, dry_after_km=350, sprocket=0.5,
        bedding_in=0.0008, bedding_in_km=260, part_spread=0.22,
    ),
    catalogue.PRIMARY: ChainLaw(
        percent_per_1000_km=0.058, limit=0.015, wet=0.15, dry_running=0.5, dry_after_km=1200, sprocket=0.3,
        bedding_in=0.0006, bedding_in_km=400, part_spread=0.20,
    ),
    catalogue.DERAILLEUR: ChainLaw(
        percent_per_1000_km=0.120, limit=0.0075, wet=0.9, dry_running=0.5, dry_after_km=250, sprocket=0.5,
        bedding_in=0.0003, bedding_in_km=150, part_spread=0.20,
    ),
    catalogue.HUB_GEAR: ChainLaw(
        percent_per_1000_km=0.100, limit=0.010, wet=0.7, dry_running=0.6, dry_after_km=350, sprocket=0.4,
        bedding_in=0.0004, bedding_in_km=200, part_spread=0.20,
    ),
}  # fmt: skip

#: What chains are lubricated with, and the factor on the wear rate of a chain that always had it. The part of
#: its rate that a chain has by itself, `part_spread`, holds this factor: the products explain some of it.
CARE_FACTOR = {"oil O": 1.13, "wax W": 0.885}
#: How often the product is written down.
CARE_NOTED = 0.9


def care_of(rng: Generator, own_factor: float, part_spread: float) -> str:
    """Return what a chain was lubricated with, given how fast it wears by itself.

    Both products are as common, and `part_spread` is the spread of both together: what a chain with one of
    them has by itself is log-normal about the product's factor. Turned round by Bayes' theorem, its own
    factor says how likely each product was, so that no other number of the fleet depends on this draw.
    """
    about = {name: log(factor) for name, factor in CARE_FACTOR.items()}
    variance = part_spread**2 - (max(about.values()) - min(about.values())) ** 2 / 4
    likely = [exp(-((log(own_factor) - mean) ** 2) / (2 * variance)) for mean in about.values()]
    return str(rng.choice(list(about), p=[one / sum(likely) for one in likely]))


#: Factor on every wear rate.
DUTY_FACTOR = {"road": 1.0, "mixed": 1.25, "off-road": 1.75}
#: Share of a sprocket's allowance that goes while its chain goes once from new to its limit.
SPROCKET_PER_CHAIN = {"driver": 0.42, "driven": 0.33}
#: How much faster a sprocket wears under a chain at its limit than under a new one.
WORN_CHAIN_ON_SPROCKET = 1.3
#: Belt damage: mean km to a belt that must come off, on the road; tension lost while bedding in, and later.
BELT_LIFE_KM = 34_000.0
BELT_BEDDING_LOSS = 0.16
BELT_BEDDING_KM = 260.0
BELT_LOSS_PER_1000_KM = 0.028
BELT_CLUMP = 0.02
#: Tooth thickness that must be left, mm: of pitch - roller, half may go where the teeth pull one way, a third
#: where the motor brakes too (Tsubaki, Drive Chains catalogue, table 8, or derived from it).
TOOTH_LEFT_MM = {"420": 3.20, "428": 2.72, "520": 3.60, "08B-1": 2.10, "1/2 x 3/32": 2.48, "1/2 x 1/8": 2.48}


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """The circumstances of a stretch of road: weather 0..1, all other factors in one, state of the drive."""

    wet: float
    factor: float
    km_since_lubricated: float = 0.0
    sprocket_wear: float = 0.0
    chain_wear: float = 0.0


@dataclass(slots=True, kw_only=True)
class Crossing:
    """When and where a part reached its limit, if it has."""

    km: float | None = None

    def note(self, share_before: float, share_after: float, km_before: float, km_after: float) -> None:
        """Note the distance at which the share passed 1, once."""
        if self.km is None and share_after >= 1.0:
            span = share_after - share_before
            inside = (1.0 - share_before) / span if span > 0 and share_before < 1.0 else 0.0
            self.km = km_before + inside * (km_after - km_before)


@dataclass(slots=True, kw_only=True)
class ChainWear:
    """The true state of one chain. `elongation` is that of its most worn section."""

    wear_class: str
    as_new: float
    bedding_in: float
    factor: float
    late_acceleration: float = 0.0
    km: float = 0.0
    worn: float = 0.0
    crossing: Crossing = field(default_factory=Crossing)
    conditions_seen: list[float] = field(default_factory=lambda: [0.0, 0.0])

    @property
    def law(self) -> ChainLaw:
        """The law of its wear class."""
        return CHAIN_LAWS[self.wear_class]

    @property
    def elongation(self) -> float:
        """Elongation of the most worn section, [-]."""
        return self.as_new + self.bedding_in * (1 - exp(-self.km / self.law.bedding_in_km)) + self.worn

    @property
    def share(self) -> float:
        """Allowance used, [-]."""
        return self.elongation / self.law.limit

    def rate(self, now: Conditions) -> float:
        """Return the mean elongation per km under these conditions, [1/km]."""
        law = self.law
        lubricant = 1 + law.dry_running * (1 - exp(-now.km_since_lubricated / law.dry_after_km))
        late = 1 + self.late_acceleration * min(max(self.share - 0.6, 0.0), 0.5)
        teeth = 1 + law.sprocket * min(now.sprocket_wear, 1.2) ** 2
        base = law.percent_per_1000_km / 100_000
        return base * self.factor * now.factor * (1 + law.wet * now.wet) * lubricant * late * teeth

    def advance(self, km: float, now: Conditions, rng: Generator) -> None:
        """Run the chain `km` further."""
        if km <= 0:
            return
        before, at = self.share, self.km
        mean = self.rate(now) * km
        clump = self.law.clump * self.law.limit
        self.worn += float(rng.gamma(mean / clump, clump))
        self.km += km
        self.conditions_seen[0] += mean
        self.conditions_seen[1] += km
        self.crossing.note(before, self.share, at, self.km)

    def km_at_limit(self, rng: Generator) -> float:
        """Return the distance on the part at which it reaches its limit, run on as it was run so far."""
        total, km = self.conditions_seen
        mean = total / km if km > 0 else self.rate(Conditions(wet=0.45, factor=1.25, km_since_lubricated=400))
        clump = self.law.clump * self.law.limit
        while self.crossing.km is None:
            before, at = self.share, self.km
            late = (1 + self.late_acceleration * min(max(before - 0.6, 0.0), 0.5)) if before < 0.75 else 1.0
            self.worn += float(rng.gamma(mean * late * 50.0 / clump, clump))
            self.km += 50.0
            self.crossing.note(before, self.share, at, self.km)
        return self.crossing.km


@dataclass(slots=True, kw_only=True)
class SprocketWear:
    """The true state of one sprocket; `share` is the allowance used at its thinnest tooth."""

    position: str
    tooth_mm: float
    limit_mm: float
    factor: float
    km: float = 0.0
    share: float = 0.0
    crossing: Crossing = field(default_factory=Crossing)

    @property
    def thickness_mm(self) -> float:
        """Tooth thickness left at the thinnest tooth, [mm]."""
        return self.tooth_mm - (self.tooth_mm - self.limit_mm) * self.share

    def advance(self, km: float, chain_share_per_km: float, chain_wear: float, rng: Generator) -> None:
        """Run the sprocket `km` further under a chain of the given state and mean rate."""
        if km <= 0:
            return
        before, at = self.share, self.km
        coupling = (1 + WORN_CHAIN_ON_SPROCKET * min(max(chain_wear, 0.0), 1.5) ** 2) / (
            1 + WORN_CHAIN_ON_SPROCKET / 3
        )
        mean = chain_share_per_km * km * SPROCKET_PER_CHAIN[self.position] * coupling * self.factor
        self.share += float(rng.gamma(mean / 0.01, 0.01))
        self.km += km
        self.crossing.note(before, self.share, at, self.km)

    def km_at_limit(self, rng: Generator) -> float:
        """Return the distance at which it reaches its limit, run on as it was run so far."""
        rate = max(self.share, 0.02) / max(self.km, 200.0)
        while self.crossing.km is None:
            before, at = self.share, self.km
            self.share += float(rng.gamma(rate * 100.0 / 0.01, 0.01))
            self.km += 100.0
            self.crossing.note(before, self.share, at, self.km)
        return self.crossing.km


@dataclass(slots=True, kw_only=True)
class BeltWear:
    """The true state of one toothed belt: damage (1 is the end) and static tension."""

    factor: float
    tension_n: float
    km: float = 0.0
    damage: float = 0.0
    crossing: Crossing = field(default_factory=Crossing)

    @property
    def share(self) -> float:
        """Damage as a share of what the belt can take, [-]."""
        return self.damage

    @property
    def grade(self) -> int:
        """Condition by eye: 0 as new, 1 polished or fuzzy, 2 damaged in places, 3 change it."""
        return sum(self.damage >= step for step in (0.3, 0.7, 1.0))

    def advance(self, km: float, now: Conditions, rng: Generator) -> None:
        """Run the belt `km` further."""
        if km <= 0:
            return
        before, at = self.share, self.km
        mean = km / BELT_LIFE_KM * self.factor * now.factor * (1 + 0.5 * now.wet)
        self.damage += float(rng.gamma(mean / BELT_CLUMP, BELT_CLUMP))
        bedding = BELT_BEDDING_LOSS * (
            exp(-self.km / BELT_BEDDING_KM) - exp(-(self.km + km) / BELT_BEDDING_KM)
        )
        steady = BELT_LOSS_PER_1000_KM * km / 1000 * self.factor * now.factor
        lost = float(rng.gamma((bedding + steady) / 0.002, 0.002))
        self.tension_n *= exp(-lost)
        self.km += km
        self.crossing.note(before, self.share, at, self.km)

    def km_at_limit(self, rng: Generator) -> float:
        """Return the distance at which the belt must come off, run on as it was run so far."""
        rate = max(self.damage, 0.01) / max(self.km, 500.0)
        while self.crossing.km is None:
            before, at = self.share, self.km
            self.damage += float(rng.gamma(rate * 200.0 / BELT_CLUMP, BELT_CLUMP))
            self.km += 200.0
            self.crossing.note(before, self.share, at, self.km)
        return self.crossing.km
