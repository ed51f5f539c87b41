"""A service visit: what is measured, judged, renewed and set."""

from datetime import date, timedelta

from sample_fleet import bench
from sample_fleet.bench import Taken
from sample_fleet.books import Row, shown
from sample_fleet.fitted import Fitted, StageState
from sample_fleet.laws import CARE_NOTED, BeltWear, ChainWear, SprocketWear
from sample_fleet.mess import spoil
from sample_fleet.roads import RECORDS_FROM, stream
from sample_fleet.scenario import MECHANICS, UPPER
from sample_fleet.vehicle import VehicleState, mess

CYCLE_KINDS = ("cargo e-bike", "e-bike", "bicycle")


class Visit:
    """One visit of one vehicle, written to the books at its end."""

    def __init__(self, vehicle: VehicleState, day: date, *, wants_zero: bool = True) -> None:
        self.vehicle = vehicle
        self.day = day
        self.rng = vehicle.rng
        self.by = str(self.rng.choice(MECHANICS[vehicle.plan.depot]))
        self.is_clean = self.chance(0.82)
        self.wants_zero = wants_zero
        self.meter = vehicle.meter_text()
        self.tasks: list[str] = ["clean"] if self.is_clean else []
        self.notes: list[str] = []
        self.renewed = False
        self.cost = 0.0

    def chance(self, share: float) -> bool:
        """Return True in a share of all cases."""
        return float(self.rng.random()) < share

    @property
    def is_upper(self) -> bool:
        """Whether it is at the Upper Depot, which has tools of its own."""
        return self.vehicle.plan.depot == UPPER

    @property
    def is_cycle(self) -> bool:
        """Whether it is pedalled."""
        return self.vehicle.plan.kind in CYCLE_KINDS

    def keep(
        self, stage: StageState, measurand: str, taken: Taken, true: float, *,
        part: Fitted | None = None, is_zero: bool = False, note: str = "", temperature: str = "",
    ) -> None:  # fmt: skip
        """Write a reading and the truth behind it."""
        definition = stage.set_up.definition if measurand == "slack" else ""
        row: Row = {
            "vehicle": self.vehicle.plan.tag,
            "stage": stage.set_up.stage,
            "date": self.day.isoformat(),
            "meter": self.meter,
            "measurand": measurand,
            "method": taken.method,
            "spots [mm]": taken.spots,
            "position": part.position if part else "",
            "pitches": shown(taken.pitches),
            "instrument": taken.instrument,
            "cleaned": ("yes" if self.is_clean or is_zero else "no")
            if measurand == "chain elongation"
            else "",
            "zero reading": "yes" if is_zero else "",
            "temperature [degC]": temperature,
            "definition": definition,
            "by": self.by,
            "note": note,
        }
        mark = spoil(self.vehicle, self.day, row, taken, part, is_zero=is_zero)
        if self.day < RECORDS_FROM:
            return
        if part is not None:
            part.readings += 1
        self.vehicle.books.keep("readings", row)
        self.vehicle.books.know(
            "readings",
            {
                "vehicle": row["vehicle"],
                "stage": row["stage"],
                "date": row["date"],
                "measurand": measurand,
                "position": row["position"],
                "zero reading": row["zero reading"],
                "true value": f"{true:.5g}",
                "expected": "" if taken.expected == true else f"{taken.expected:.5g}",
                "u": f"{taken.u:.3g}",
                "mark": mark,
            },
        )

    def measure_chain(self, stage: StageState, part: Fitted, *, is_zero: bool = False) -> float:
        """Measure the elongation with one of the depot's methods; return the value the mechanic goes by."""
        wear = part.wear
        if not isinstance(wear, ChainWear):
            raise TypeError(part.part_type.name)
        taken = self._elongation(stage, part, wear, is_zero=is_zero)
        self.keep(stage, "chain elongation", taken, wear.elongation, part=part, is_zero=is_zero)
        return taken.found

    def _elongation(self, stage: StageState, part: Fitted, wear: ChainWear, *, is_zero: bool) -> Taken:
        rng, chain = self.rng, part.part_type
        way = float(rng.random())
        if self.is_cycle and way < 0.53 and not self.vehicle.misread and not is_zero:
            gauge = "Two-prong gauge U1" if self.is_upper else "One-side gauge H1"
            by_gauge = way < 0.45
            return (
                bench.by_gauge(rng, gauge, wear.elongation)
                if by_gauge
                else bench.read_off(rng, wear.elongation)
            )
        sections = part.sections[: 1 if is_zero else (3 if way < 0.8 else 2)]
        truth = (wear.elongation, wear.as_new, sections)
        tool, method, pitches = self._way_of_measuring(way, is_short=stage.set_up.stage == "primary drive")
        if method == "inside and outside":
            return bench.by_caliper(rng, tool, chain, *truth, pitches=pitches)
        in_inches = tool == "Harbour inch rule"
        return bench.by_length(rng, tool, method, chain, *truth, pitches=pitches, in_inches=in_inches)

    def _way_of_measuring(self, way: float, *, is_short: bool) -> tuple[str, str, int]:
        """Return tool, method and number of pitches; an even number, so that every joint counts alike."""
        caliper = "Upper caliper 200" if self.is_upper else "Harbour caliper 200"
        rule = "Upper steel rule 500" if self.is_upper else "Harbour inch rule"
        if way <= (0.75 if is_short else 0.66):
            return caliper, "inside and outside", 8 if is_short else 10
        if way <= 0.75:
            return caliper, "same side of two rollers", 10
        if way > 0.92 and self.is_upper and not is_short:
            return "Tape 2 m", "tape under load", 40
        return rule, "same edge of two pins", 12 if is_short else 20

    def _looks_at(self, sprocket: Fitted) -> bool:
        """Whether the teeth are looked at: once early in life, when worn, and now and then."""
        if sprocket.readings == 0 and sprocket.wear.km > 800.0:
            return self.chance(0.45)
        return self.chance(0.5 if sprocket.wear.share > 0.9 else 0.07)

    def measure_sprocket(self, stage: StageState, part: Fitted) -> float:
        """Measure the teeth or grade them by eye; return the share the mechanic believes."""
        wear = part.wear
        if not isinstance(wear, SprocketWear) or part.part_type.kind != "sprocket":
            return 0.0
        if part.readings == 0 or self.chance(0.6):
            thickest = wear.thickness_mm + float(self.rng.uniform(0.0, 0.08))
            caliper = "Upper caliper 200" if self.is_upper else "Harbour caliper 200"
            taken = bench.by_hand(self.rng, (wear.thickness_mm, thickest), bench.U_TOOTH_MM, 0.05, caliper)
            self.keep(stage, "sprocket tooth thickness", taken, wear.thickness_mm, part=part)
            return (wear.tooth_mm - taken.found) / (wear.tooth_mm - wear.limit_mm)
        grade = sum(wear.share >= step for step in (0.2, 0.55, 0.95))
        self.keep(stage, "sprocket condition grade", bench.by_eye(grade), float(grade), part=part)
        return (0.1, 0.4, 0.75, 1.05)[grade]

    def chain_stage(self, stage: StageState) -> None:
        """Serve a stage with a chain."""
        part, wear = stage.parts["run"], stage.chain
        if wear is None:
            return
        share = 0.0
        is_seen = self.chance(0.84 if stage.set_up.stage == "final drive" else 0.56) or stage.believed > 0.7
        if is_seen or self.vehicle.misread:
            share = stage.believed = self.measure_chain(stage, part) / wear.law.limit
        looked = [
            (position, self.measure_sprocket(stage, stage.parts[position]))
            for position in ("driver", "driven")
            if self._looks_at(stage.parts[position])
        ]
        self._slack(stage)
        if self.chance(0.88):
            self.tasks.append(f"lubricate: {stage.set_up.stage}{self._care(stage, part)}")
            stage.km_since_lubricated = 0.0
        is_plainly_worn = not share and wear.share > 1.0 and self.chance(0.75)
        if self.vehicle.waits_for_parts:
            return
        if share >= part.change_at or is_plainly_worn:
            if is_plainly_worn:
                self.notes.append("worn out, not measured")
                if self.day >= RECORDS_FROM:
                    lost = mess(
                        "worn out without a reading", self.vehicle.plan.tag, self.day, stage.set_up.stage
                    )
                    self.vehicle.books.know("mess", lost)
            self.renew_chain(stage, "worn" if share > 0.93 or is_plainly_worn else "replaced early")
            return
        for position, believed in looked:
            if believed >= 1.0:
                self.renew_sprocket(stage, position, "worn")

    def _care(self, stage: StageState, part: Fitted) -> str:
        """Return what was used as it stands behind the task, nothing if nobody wrote it down."""
        drawn = stream(
            self.vehicle.seed, self.vehicle.plan.tag, stage.set_up.stage, self.day.isoformat(), "noted"
        )
        return f" = {part.care}" if part.care and drawn.random() < CARE_NOTED else ""

    def renew_chain(self, stage: StageState, reason: str) -> None:
        """Renew the chain, and the sprockets with it as a set where they have seen enough."""
        self.vehicle.take_off(stage, "run", self.day, reason)
        is_set = self.chance(0.25)
        for position in ("driver", "driven"):
            if is_set or stage.parts[position].wear.share > 0.42:
                self.renew_sprocket(stage, position, "worn" if reason == "worn" else "replaced early")
        part = self.vehicle.fit(stage, "run", stage.set_up.run, self.day)
        self._after_fitting(stage, part)

    def _after_fitting(self, stage: StageState, part: Fitted) -> None:
        self.renewed = True
        self.cost += part.part_type.price
        self.tasks.append(f"check torque: {stage.set_up.stage}")
        if self.wants_zero and part.part_type.kind == "chain" and self.chance(0.72):
            self.measure_chain(stage, part, is_zero=True)
            stage.set_elongation = part.wear.elongation if isinstance(part.wear, ChainWear) else 0.0

    def fit_from_shelf(self, stage: StageState, part: Fitted) -> None:
        """Put a used chain on in place of the one that is there."""
        self.vehicle.take_off(stage, "run", self.day, "replaced early")
        self.vehicle.put(stage, part, self.day)
        self._after_fitting(stage, part)

    def renew_sprocket(self, stage: StageState, position: str, reason: str) -> None:
        """Renew one sprocket."""
        name = stage.parts[position].part_type.name
        self.vehicle.take_off(stage, position, self.day, reason)
        self.cost += self.vehicle.fit(stage, position, name, self.day).part_type.price

    def _slack(self, stage: StageState) -> None:
        set_up = stage.set_up
        if set_up.has_tensioner or not set_up.slack_mm:
            return
        tight = stage.slack_mm()
        # A run that hangs down is seen by everybody, but not always written down.
        hangs = tight > 1.4 * set_up.slack_mm
        if not self.chance(0.85 if hangs else 0.1):
            return
        taken = bench.by_hand(
            self.rng, (tight, tight + stage.looser_mm), bench.U_SLACK_MM * set_up.slack_mm / 34.0, 1.0
        )
        if not hangs or self.chance(0.4):
            self.keep(stage, "slack", taken, tight)
        if taken.found > 1.3 * set_up.slack_mm:
            target = set_up.slack_mm * (1 + float(self.rng.normal(0.0, 0.04)))
            if not stage.set_tension(target):
                self.notes.append("adjuster at its end")
            after = stage.slack_mm()
            self.tasks.append(f"set tension: {set_up.stage} {taken.found:.0f} mm > {after:.0f} mm")
            if self.chance(0.2):
                mark = bench.by_hand(self.rng, (stage.adjuster_mm,), bench.U_ADJUSTER_MM, 0.5)
                self.keep(stage, "adjuster position", mark, stage.adjuster_mm)
        if self.vehicle.plan.duty == "off-road" and set_up.stage == "final drive" and self.chance(0.08):
            chain = stage.chain
            lift = 0.7 + 180.0 * (chain.elongation if chain else 0.0)
            taken = bench.by_hand(self.rng, (lift,), 0.3, 0.5)
            self.keep(stage, "chain lift-off at the driven sprocket", taken, lift,
                      part=stage.parts["driven"])  # fmt: skip

    def belt_stage(self, stage: StageState) -> None:
        """Serve a stage with a belt."""
        belt, part, set_up = stage.belt, stage.parts["run"], stage.set_up
        if belt is None:
            return
        if self.chance(0.6) or stage.torque_checks_left == 2:
            taken = self._tension(stage, belt, part)
            if taken.found < set_up.least_tension_n * 1.12 or stage.torque_checks_left == 2:
                before = taken.found
                belt.tension_n = set_up.tension_n * (1 + float(self.rng.normal(0.0, 0.03)))
                self.tasks.append(f"set tension: {set_up.stage} {before:.0f} N > {belt.tension_n:.0f} N")
        if self.chance(0.3) or belt.damage > 1:
            self.keep(stage, "belt condition grade", bench.by_eye(belt.grade), float(belt.grade), part=part)
            if belt.grade == 3 and not self.vehicle.waits_for_parts and not self._is_to_be_converted():
                self.renew_belt(stage, "damaged" if belt.km < 12_000 else "worn")

    def _is_to_be_converted(self) -> bool:
        ahead = [story.on for story in self.vehicle.plan.stories if story.what == "convert"]
        return any(timedelta(0) < on - self.day < timedelta(days=100) for on in ahead)

    def renew_belt(self, stage: StageState, reason: str) -> None:
        """Renew the belt alone."""
        self.vehicle.take_off(stage, "run", self.day, reason)
        self._after_fitting(stage, self.vehicle.fit(stage, "run", stage.set_up.run, self.day))

    def _tension(self, stage: StageState, belt: BeltWear, part: Fitted) -> Taken:
        span, mass = stage.set_up.span_mm, part.part_type.mass_kg_per_m or 0.0
        temperature = f"{float(self.rng.uniform(4, 27)):.0f}" if self.chance(0.15) else ""
        if self.is_cycle and self.chance(0.35):
            taken = bench.by_force(self.rng, belt.tension_n, span)
        else:
            taken = bench.by_frequency(self.rng, belt.tension_n, span, mass)
        self.keep(stage, "static belt tension", taken, belt.tension_n, part=part, temperature=temperature)
        return taken

    def serve(self) -> None:
        """Serve every stage."""
        for stage in self.vehicle.stages:
            if "run" not in stage.parts:
                continue
            if stage.torque_checks_left > 0 or self.chance(0.06):
                self.tasks.append(f"check torque: {stage.set_up.stage}")
            is_belt = stage.set_up.drive == "belt"
            (self.belt_stage if is_belt else self.chain_stage)(stage)
            if not self.renewed:
                stage.torque_checks_left = max(stage.torque_checks_left - 1, 0)

    def end(self) -> None:
        """Write the visit down and arrange the next one."""
        vehicle, rng = self.vehicle, self.rng
        if self.day >= RECORDS_FROM:
            vehicle.last_noted_km = vehicle.total_km
            if not self.tasks:
                self.tasks.append("inspect")
            self.cost += 18.0 + 4.0 * len(self.tasks)
            vehicle.books.keep(
                "visits",
                {
                    "vehicle": vehicle.plan.tag,
                    "date": self.day.isoformat(),
                    "meter": self.meter,
                    "by": self.by,
                    "tasks": "; ".join(dict.fromkeys(self.tasks)),
                    "notes": "; ".join(note for note in self.notes if note),
                    "cost": shown(self.cost, 2) if self.renewed or self.chance(0.4) else "",
                },
            )
        late = 1.7 if self.chance(0.08) else 1.0
        km = vehicle.plan.visit_km * float(rng.uniform(0.75, 1.3)) * late
        if self.renewed and self.chance(0.7):
            km = float(rng.uniform(140, 380))
        # Whoever saw a chain near its limit wants to see it again soon.
        near = max((stage.believed for stage in vehicle.stages), default=0.0)
        km *= 0.7 if near > 0.8 and not vehicle.waits_for_parts else 1.0
        vehicle.next_visit_km = vehicle.total_km + km
        weeks = vehicle.plan.visit_days * float(rng.uniform(0.75, 1.25)) * late
        vehicle.next_visit_on = self.day + timedelta(days=int(weeks))
