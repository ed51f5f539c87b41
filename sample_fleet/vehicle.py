"""One invented vehicle while its three years run: meter, stages, parts going on and coming off."""

from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from math import exp

from numpy.random import Generator

from sample_fleet.books import Books, Row, shown
from sample_fleet.catalogue import BY_NAME, SetUp
from sample_fleet.fitted import Fitted, StageState, limit_of, new_part
from sample_fleet.laws import DUTY_FACTOR, BeltWear, ChainWear, care_of
from sample_fleet.roads import RECORDS_FROM, ROADS_FROM, Riding, stream
from sample_fleet.scenario import Story, VehiclePlan

KM_PER_MILE = 1.609344


@dataclass(slots=True)
class VehicleState:
    """A vehicle as it is on the day that is being lived through."""

    plan: VehiclePlan
    seed: int
    books: Books
    shelf: dict[str, Fitted]
    rng: Generator
    riding: Riding
    factor: float
    total_km: float
    stages: list[StageState] = field(default_factory=list)
    removed: list[tuple[StageState, Fitted]] = field(default_factory=list)
    meter_zero_km: float = 0.0
    last_noted_km: float = 0.0
    lost_km: float = 0.0
    standing_until: date | None = None
    retired_on: date | None = None
    waits_for_parts: bool = False
    rogue: float = 1.0
    misread: str = ""
    meter_in_miles: bool = False
    next_visit_km: float = 0.0
    next_visit_on: date = ROADS_FROM
    next_entry_on: date = RECORDS_FROM
    rechecks_km: list[float] = field(default_factory=list)

    @classmethod
    def at_start(cls, plan: VehiclePlan, seed: int, books: Books, shelf: dict[str, Fitted]) -> "VehicleState":
        """Return the vehicle on the day its road begins, with parts that have run before if it is not new."""
        rng = stream(seed, plan.tag)
        factor = plan.vehicle_factor or exp(float(rng.normal(0.0, 0.16)))
        state = cls(
            plan=plan,
            seed=seed,
            books=books,
            shelf=shelf,
            rng=rng,
            riding=Riding(stream(seed, plan.tag, "riding"), plan.km_per_day, plan.summer),
            factor=factor,
            total_km=plan.start_km if plan.since < ROADS_FROM else 3.0,
        )
        first = max(plan.since, ROADS_FROM)
        state.next_visit_km = state.total_km + float(rng.uniform(150, 500))
        state.next_visit_on = first + timedelta(days=int(rng.integers(20, 60)))
        state.next_entry_on = max(RECORDS_FROM, first) + timedelta(days=int(rng.integers(1, 25)))
        if first >= RECORDS_FROM:
            state.note_meter(first, note="into service")
        for set_up in plan.set_ups:
            stage = StageState(set_up)
            state.stages.append(stage)
            state.fit_stage(stage, first)
            if plan.since < ROADS_FROM:
                state.age(stage, first)
        return state

    def age(self, stage: StageState, first: date) -> None:
        """Let the parts of an older vehicle have run for a while before the road begins."""
        km = min(float(self.rng.uniform(0.1, 0.75)) * self.plan.start_km, 4500.0)
        km = min(km, (first - self.plan.since).days * self.plan.km_per_day)
        on = first - timedelta(days=int(km / self.plan.km_per_day))
        for part in stage.parts.values():
            part.fitted_on = on
            part.row["fitted on"] = on.isoformat()
            part.row["fitted at"] = self.meter_text(self.total_km - km)
        for _ in range(int(km // 40)):
            stage.ride(40.0, 0.45, DUTY_FACTOR[self.plan.duty], self.rng)
            stage.km_since_lubricated = stage.km_since_lubricated % 800.0

    @property
    def is_hours(self) -> bool:
        """Whether the meter counts hours."""
        return self.plan.meter_unit == "h"

    def meter_text(self, total_km: float | None = None) -> str:
        """Return what the meter shows, as it is written down."""
        km = (self.total_km if total_km is None else total_km) - self.meter_zero_km
        if self.is_hours:
            return f"{km / self.plan.km_per_hour:.1f}"
        if self.plan.meter_unit == "mi":
            return f"{km / KM_PER_MILE:.0f}"
        if self.meter_in_miles and total_km is None:
            return f"{km / KM_PER_MILE:.1f} mi"
        return f"{km:.0f}"

    def use(self, km: float) -> float:
        """Return a distance in the unit of use of this vehicle: km, or h on an hour meter."""
        return km / self.plan.km_per_hour if self.is_hours else km

    def stage(self, name: str) -> StageState:
        """Return a stage by its name."""
        return next(stage for stage in self.stages if stage.set_up.stage == name)

    def ride(self, day: date, wet: float) -> None:
        """Live through the road of one day."""
        if self.retired_on is not None or (self.standing_until is not None and day < self.standing_until):
            return
        km = self.riding.km_on(day)
        if km <= 0.0:
            return
        self.total_km += km
        for stage in self.stages:
            stage.ride(km, wet, DUTY_FACTOR[self.plan.duty] * self.riding.rider, self.rng)

    def fit_stage(self, stage: StageState, on: date) -> None:
        """Fit everything in a stage anew."""
        self.fit(stage, "driver", stage.set_up.driver, on)
        self.fit(stage, "driven", stage.set_up.driven, on)
        self.fit(stage, "run", stage.set_up.run, on)

    def fit(self, stage: StageState, position: str, name: str, on: date, notes: str = "") -> Fitted:
        """Fit a new part."""
        part_type = BY_NAME[name]
        row: Row = {"part type": name, "cost": shown(part_type.price), "notes": notes}
        factor = self.factor
        if position == "run" and part_type.kind == "chain" and stage.set_up.stage == "final drive":
            factor *= self.rogue
            self.rogue = 1.0
        part = new_part(self.rng, self.seed, part_type, position, on, row, factor)
        if isinstance(part.wear, ChainWear):
            drawn = stream(self.seed, self.plan.tag, stage.set_up.stage, on.isoformat(), "care")
            part.care = care_of(drawn, part.own_factor, part.wear.law.part_spread)
        self.put(stage, part, on)
        return part

    def put(self, stage: StageState, part: Fitted, on: date) -> None:
        """Put a part, new or used, into its place."""
        part.fitted_on = on
        part.readings = 0
        part.distance_at_fitting = part.wear.km
        part.row |= {
            "vehicle": self.plan.tag,
            "stage": stage.set_up.stage,
            "position": part.position,
            "fitted on": on.isoformat(),
            "fitted at": self.meter_text(),
        }
        stage.parts[part.position] = part
        if part.position == "run":
            stage.fresh(self.rng)
            if isinstance(part.wear, BeltWear):
                part.wear.tension_n = stage.set_up.tension_n * (1 + float(self.rng.normal(0.0, 0.03)))

    def take_off(self, stage: StageState, position: str, on: date, reason: str) -> Fitted:
        """Take a part off and close its row."""
        part = stage.parts.pop(position)
        part.row |= {"removed on": on.isoformat(), "removed at": self.meter_text(), "reason": reason}
        if on >= RECORDS_FROM:
            self.close(stage.set_up, part)
        return part

    def close(self, set_up: SetUp, part: Fitted) -> None:
        """Write the row of an installation and its truth."""
        self.books.keep("installations", dict(part.row))
        limit, unit = limit_of(part, set_up)
        wear, now = replace(part.wear, crossing=replace(part.wear.crossing)), part.wear.km
        is_reached = wear.crossing.km is not None
        if isinstance(wear, ChainWear):
            wear.conditions_seen = list(wear.conditions_seen)
        share = part.wear.share
        at_limit = wear.km_at_limit(stream(self.seed, self.plan.tag, part.row["fitted on"], part.position))
        self.books.know(
            "installations",
            {
                "vehicle": self.plan.tag,
                "stage": set_up.stage,
                "position": part.position,
                "fitted on": part.row["fitted on"],
                "part type": part.part_type.name,
                "limit": shown(limit),
                "unit": unit,
                "distance at fitting": shown(self.use(part.distance_at_fitting), 1),
                "distance now": shown(self.use(now), 1),
                "share now": shown(share, 4),
                "distance at limit": shown(self.use(at_limit), 1),
                "reached": "yes" if is_reached else "no",
                "part factor": shown(part.wear.factor, 3),
                "late acceleration": (
                    shown(part.wear.late_acceleration, 2) if isinstance(part.wear, ChainWear) else ""
                ),
                "readings": str(part.readings),
                "care": part.care,
            },
        )

    def note_meter(self, day: date, **more: str) -> None:
        """Write a meter entry."""
        self.last_noted_km = self.total_km
        row = {"vehicle": self.plan.tag, "date": day.isoformat(), "meter": self.meter_text(), "event": "read"}
        self.books.keep("meter", row | more)

    def replace_meter(self, day: date, story: Story) -> None:
        """Fit a new meter that begins at zero; the old value is noted or lost."""
        old = self.meter_text()
        if not story.value:
            self.lost_km += self.total_km - self.last_noted_km
            old = ""
        self.meter_zero_km = self.total_km
        self.note_meter(day, event="replaced", **{"old meter": old, "note": story.note})

    def roll_over(self, day: date) -> None:
        """Let a five-digit meter begin again."""
        self.meter_zero_km += 100_000.0
        entry = {"event": "rolled over", "meter": "0", "old meter": "100000", "note": "five digits"}
        self.note_meter(day, **entry)
        self.books.know("mess", mess("meter rolled over", self.plan.tag, day, "old value 100000"))

    def finish(self) -> None:
        """Write down what is still fitted, the vehicle and its true state."""
        for stage in self.stages:
            for position in ("driver", "run", "driven"):
                if position in stage.parts:
                    self.close(stage.set_up, stage.parts[position])
            self._keep_stage(stage.set_up)
        plan = self.plan
        self.books.keep(
            "vehicles",
            {
                "tag": plan.tag,
                "description": plan.description,
                "kind": plan.kind,
                "depot": plan.depot,
                "meter unit": plan.meter_unit,
                "duty": plan.stated_duty or plan.duty,
                "model": plan.model,
                "in service since": plan.since.isoformat(),
                "retired on": self.retired_on.isoformat() if self.retired_on else "",
                "owner contact": plan.owner_contact or f"{plan.depot}, fleet desk",
                "notes": plan.notes,
            },
        )
        for stage in self.stages:
            if "run" in stage.parts and stage.parts["run"].readings == 1:
                on, detail = stage.parts["run"].fitted_on, f"{stage.set_up.stage}: {stage.set_up.run}"
                self.books.know("mess", mess("exactly one reading", plan.tag, on, detail))
        fitted = [(stage, part) for stage in self.stages for part in stage.parts.values()]
        shares = [_share_that_counts(stage, part) for stage, part in fitted]
        most = max(shares)
        stage, worst = fitted[shares.index(most)]
        unread = [s for s in self.stages if s.chain is not None and s.parts["run"].readings == 0]
        self.books.know(
            "vehicles",
            {
                "vehicle": plan.tag,
                "total": shown(self.use(self.total_km), 1),
                "unit": "h" if self.is_hours else "km",
                "lost distance": shown(self.use(self.lost_km), 1),
                "vehicle factor": shown(self.factor, 3),
                "worst share": shown(most, 3),
                "worst part": f"{stage.set_up.stage}: {worst.part_type.name}",
                "state": "retired" if self.retired_on else _state(most, bool(unread)),
            },
        )

    def _keep_stage(self, set_up: SetUp) -> None:
        is_belt = set_up.drive == "belt"
        self.books.keep(
            "stages",
            {
                "vehicle": self.plan.tag,
                "stage": set_up.stage,
                "order": str(set_up.order),
                "drive": set_up.drive,
                "centre distance [mm]": "" if set_up.has_tensioner else shown(set_up.centre_mm),
                "adjuster range [mm]": shown(set_up.adjuster_range_mm),
                "belt span [mm]": shown(set_up.span_mm) if is_belt else "",
                "rated speed [1/min]": shown(set_up.rated_rpm),
                "rated power [kW]": shown(set_up.rated_kw),
                "wheel circumference [mm]": shown(set_up.wheel_mm),
                "slack definition": set_up.definition,
            },
        )


def mess(what: str, vehicle: str, on: date, detail: str) -> Row:
    """Return a row that says where a piece of the mess is."""
    return {"what": what, "vehicle": vehicle, "date": on.isoformat(), "detail": detail}


def _share_that_counts(stage: StageState, part: Fitted) -> float:
    """Return the allowance used as a workshop can see it; of a belt the tension, or that it must come off."""
    wear = part.wear
    if not isinstance(wear, BeltWear):
        return wear.share
    lost = stage.set_up.tension_n - wear.tension_n
    tension = lost / (stage.set_up.tension_n - stage.set_up.least_tension_n)
    return max(tension, wear.damage if wear.damage >= 1 else 0.0)


def _state(share: float, is_unread: bool) -> str:
    for least, word in ((1.0, "past limit"), (0.9, "due"), (0.75, "plan")):
        if share >= least:
            return word
    return "no reading" if is_unread else "within limit"
