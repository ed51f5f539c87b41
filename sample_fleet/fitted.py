"""Parts as they sit in the invented vehicles, and the stages that hold them."""

from dataclasses import dataclass, field
from datetime import date
from math import asin, cos, exp, sqrt

from numpy.random import Generator

from sample_fleet import catalogue
from sample_fleet.books import Row
from sample_fleet.catalogue import PartType, SetUp
from sample_fleet.laws import CHAIN_LAWS, TOOTH_LEFT_MM, BeltWear, ChainWear, Conditions, SprocketWear
from sample_fleet.roads import lot_factor

#: Share of the elongation that shows as excess length; the rest climbs the teeth.
SHOWN_AS_SLACK = 0.8


@dataclass(slots=True, kw_only=True)
class Fitted:
    """One part in one place.

    `change_at` is the share at which this workshop will renew it, `own_factor` what its rate is by itself
    beside that of its vehicle and lot, `care` what it is lubricated with.
    """

    part_type: PartType
    position: str
    wear: ChainWear | SprocketWear | BeltWear
    fitted_on: date
    row: Row
    sections: tuple[float, ...] = (0.0,)
    change_at: float = 1.0
    distance_at_fitting: float = 0.0
    readings: int = 0
    own_factor: float = 1.0
    care: str = ""


@dataclass(slots=True)
class StageState:
    """A drive stage with what is fitted in it now."""

    set_up: SetUp
    parts: dict[str, Fitted] = field(default_factory=dict)
    km_since_lubricated: float = 0.0
    km_since_fitted: float = 0.0
    set_slack_mm: float = 0.0
    set_elongation: float = 0.0
    adjuster_mm: float = 0.0
    looser_mm: float = 3.0
    torque_checks_left: int = 0
    believed: float = 0.0

    @property
    def chain(self) -> ChainWear | None:
        """The chain's true state, None on a belt stage or without a chain."""
        wear = self.parts["run"].wear if "run" in self.parts else None
        return wear if isinstance(wear, ChainWear) else None

    @property
    def belt(self) -> BeltWear | None:
        """The belt's true state, None on a chain stage."""
        wear = self.parts["run"].wear if "run" in self.parts else None
        return wear if isinstance(wear, BeltWear) else None

    def ride(self, km: float, wet: float, factor: float, rng: Generator) -> None:
        """Run everything in the stage `km` further."""
        self.km_since_lubricated += km
        self.km_since_fitted += km
        sprockets = [part.wear for part in self.parts.values() if isinstance(part.wear, SprocketWear)]
        if self.belt is not None:
            self.belt.advance(km, Conditions(wet=wet, factor=factor), rng)
            for pulley in sprockets:
                # A pulley outlasts two or three belts.
                pulley.advance(km, factor / 70_000, 0.3, rng)
        chain = self.chain
        if chain is not None:
            now = Conditions(
                wet=wet,
                factor=factor,
                km_since_lubricated=self.km_since_lubricated,
                sprocket_wear=max((sprocket.share for sprocket in sprockets), default=0.0),
            )
            usual = chain.rate(now) / chain.factor / chain.law.limit
            for sprocket in sprockets:
                sprocket.advance(km, usual, chain.share, rng)
            chain.advance(km, now, rng)

    def excess_mm(self) -> float:
        """Length gained in the loop since the tension was last set, [mm]."""
        chain = self.chain
        if chain is None:
            return 0.0
        return max(chain.elongation - self.set_elongation, 0.0) * self.set_up.loop_mm * SHOWN_AS_SLACK

    def slack_mm(self) -> float:
        """Total mid-span movement at the tightest place, excess length pulled into a triangle, [mm]."""
        return sqrt(self.set_slack_mm**2 + 2 * self.set_up.span_mm * self.excess_mm())

    def set_tension(self, slack_mm: float) -> bool:
        """Take the excess out with the adjuster; False if the adjuster came to its end."""
        span = self.set_up.span_mm
        lean = asin(sqrt(max(self.set_up.centre_mm**2 - span**2, 0.0)) / self.set_up.centre_mm)
        length = (self.slack_mm() ** 2 - slack_mm**2) / (2 * span)
        move = length / (2 * cos(lean))
        room = (self.set_up.adjuster_range_mm or 0.0) - self.adjuster_mm
        taken = min(move, max(room, 0.0))
        left = (move - taken) * 2 * cos(lean)
        self.set_slack_mm = sqrt(slack_mm**2 + 2 * span * max(left, 0.0))
        self.adjuster_mm += taken
        if self.chain is not None:
            self.set_elongation = self.chain.elongation
        return move <= room

    def fresh(self, rng: Generator) -> None:
        """Set slack, tension and adjuster as after fitting a new chain or belt."""
        self.km_since_fitted = self.km_since_lubricated = 0.0
        self.torque_checks_left = 2
        self.believed = 0.0
        self.looser_mm = float(rng.uniform(1.0, 5.0)) * max(self.set_up.slack_mm, 10.0) / 34.0
        self.set_slack_mm = self.set_up.slack_mm * (1 + float(rng.normal(0.0, 0.04)))
        self.adjuster_mm = float(rng.uniform(0.1, 0.2)) * (self.set_up.adjuster_range_mm or 0.0)
        if self.chain is not None:
            self.set_elongation = self.chain.elongation


def new_part(
    rng: Generator, seed: int, part_type: PartType, position: str, on: date, row: Row, vehicle_factor: float
) -> Fitted:
    """Return a new part of a type with its own hidden rate, and the row that records its fitting."""
    wear: ChainWear | SprocketWear | BeltWear
    own_factor = 1.0
    if part_type.kind == "chain":
        law = CHAIN_LAWS[part_type.wear_class]
        lot = f"{on:%y}-{'A' if on.month < 7 else 'B'}"
        row["lot"] = lot
        row["links"] = str(part_type.links)
        as_new = min(max(float(rng.normal(0.0003, 0.0003)), -0.0003), 0.0012)
        bedding_in = law.bedding_in * exp(float(rng.normal(0.0, 0.3)))
        own_factor = exp(float(rng.normal(0.0, law.part_spread)))
        wear = ChainWear(
            wear_class=part_type.wear_class,
            as_new=as_new,
            bedding_in=bedding_in,
            factor=vehicle_factor * lot_factor(seed, part_type.name, lot) * own_factor,
            late_acceleration=float(rng.choice([0.0, 0.0, 0.0, 0.8, 1.5])),
        )
    elif part_type.kind == "belt":
        row["lot"] = f"{on:%y}-{'A' if on.month < 7 else 'B'}"
        wear = BeltWear(factor=exp(float(rng.normal(0.0, 0.25))), tension_n=0.0)
    else:
        row["thread lock"] = "yes" if position == "driver" and rng.random() < 0.7 else ""
        tooth = part_type.pitch_mm - (part_type.roller_mm or part_type.pitch_mm / 2)
        wear = SprocketWear(
            position=position,
            tooth_mm=tooth,
            limit_mm=TOOTH_LEFT_MM.get(part_type.designation, tooth / 2),
            factor=exp(float(rng.normal(0.0, 0.25))),
        )
    policy = float(rng.random())
    change_at = 0.95 + abs(float(rng.normal(0.0, 0.03)))
    if policy < 0.18:
        change_at = float(rng.uniform(0.72, 0.88))
    elif policy > 0.88:
        change_at = float(rng.uniform(1.05, 1.2))
    return Fitted(
        part_type=part_type,
        position=position,
        wear=wear,
        fitted_on=on,
        row=row,
        sections=(0.0, float(rng.uniform(0.01, 0.1)), float(rng.uniform(0.03, 0.16))),
        change_at=change_at,
        own_factor=own_factor,
    )


def limit_of(part: Fitted, set_up: SetUp) -> tuple[float, str]:
    """Return the true limit of a part and its unit."""
    if isinstance(part.wear, ChainWear):
        return part.wear.law.limit, "1"
    if isinstance(part.wear, SprocketWear) and part.part_type.kind == "sprocket":
        return part.wear.limit_mm, "mm"
    return 1.0, "damage" if set_up.drive == catalogue.BELT.split()[-1] else "share"
