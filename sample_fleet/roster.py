"""The vehicles of Larkfell Ranger Service and the story of each."""

from dataclasses import replace
from datetime import date

from sample_fleet import catalogue
from sample_fleet.scenario import HARBOUR, UPPER, Story, VehiclePlan

_BELT_PATROL = VehiclePlan(
    tag="",
    description="Patrol motorcycle, electric, belt primary",
    kind="electric motorcycle",
    depot=UPPER,
    model="PM-B",
    set_ups=(catalogue.PRIMARY_BELT, catalogue.PATROL_FINAL),
    km_per_day=27.0,
)
_CHAIN_PATROL = replace(
    _BELT_PATROL,
    description="Patrol motorcycle, electric, chain primary",
    model="PM-C",
    set_ups=(catalogue.PRIMARY_CHAIN, catalogue.PATROL_FINAL),
)
_HEAVY_PATROL = replace(
    _BELT_PATROL,
    description="Heavy patrol motorcycle, electric, wide belt primary",
    model="PM-X",
    set_ups=(catalogue.PRIMARY_WIDE_BELT, catalogue.HEAVY_FINAL),
    duty="road",
    km_per_day=34.0,
)
_CARGO = VehiclePlan(
    tag="",
    description="Cargo e-bike, mid drive, derailleur",
    kind="cargo e-bike",
    depot=HARBOUR,
    model="CB-D",
    set_ups=(catalogue.CARGO_DERAILLEUR,),
    duty="road",
    km_per_day=15.0,
    visit_km=620.0,
    visit_days=63,
    summer=0.1,
)
_CARGO_HUB = replace(
    _CARGO, description="Cargo e-bike, mid drive, hub gear with chain", model="CB-H", visit_km=750.0,
    set_ups=(catalogue.CARGO_HUB_CHAIN,),
)  # fmt: skip
_CARGO_BELT = replace(
    _CARGO, description="Cargo e-bike, mid drive, hub gear with belt", model="CB-B", visit_km=1000.0,
    set_ups=(catalogue.CARGO_HUB_BELT,),
)  # fmt: skip
_TRAIL_520 = VehiclePlan(
    tag="",
    description="Trail motorcycle, petrol, 520 chain",
    kind="petrol motorcycle",
    depot=UPPER,
    model="TM-5",
    set_ups=(catalogue.TRAIL_520,),
    duty="off-road",
    km_per_day=13.0,
    summer=0.35,
    visit_km=620.0,
    visit_days=56,
)
_TRAIL_428 = replace(
    _TRAIL_520, description="Trail motorcycle, petrol, 428 chain", model="TM-4",
    set_ups=(catalogue.TRAIL_428,), km_per_day=12.0,
)  # fmt: skip


ROSTER: tuple[VehiclePlan, ...] = (
    replace(_BELT_PATROL, tag="LR-001", start_km=6120, since=date(2022, 5, 2)),
    replace(
        _BELT_PATROL, tag="LR-002", start_km=5840, since=date(2022, 5, 2), km_per_day=31.0,
        stories=(Story(on=date(2025, 5, 12), what="voided misread"),),
    ),
    replace(_BELT_PATROL, tag="LR-003", depot=HARBOUR, start_km=7310, since=date(2022, 5, 9), km_per_day=22.0,
            stories=(Story(on=date(2024, 10, 8), what="miles", note="read off the display in miles"),)),
    replace(
        _BELT_PATROL, tag="LR-004", depot=HARBOUR, since=date(2023, 9, 4), km_per_day=29.0,
        stories=(Story(on=date(2026, 11, 18), what="fit", note="fitted before the weekend patrol, not measured"),),
    ),
    replace(
        _BELT_PATROL, tag="LR-005", since=date(2024, 3, 11), duty="off-road", km_per_day=20.0,
        stories=(Story(on=date(2025, 7, 3), what="damage", stage="primary drive", value=1.02,
                        note="stone through the cover, teeth missing"),),
    ),
    replace(
        _BELT_PATROL, tag="LR-006", start_km=4980, since=date(2022, 6, 20), km_per_day=28.0,
        stories=(Story(on=date(2025, 5, 20), what="meter replaced", value=1, note="display failed, old value read out"),),
    ),
    replace(_CHAIN_PATROL, tag="LR-007", start_km=2210, since=date(2022, 11, 7)),
    replace(
        _CHAIN_PATROL, tag="LR-008", depot=HARBOUR, start_km=2045, since=date(2022, 11, 7), km_per_day=33.0,
        stories=(Story(on=date(2025, 9, 10), what="wrong vehicle"),),
    ),
    replace(
        _CHAIN_PATROL, tag="LR-009", depot=HARBOUR, since=date(2023, 6, 5), km_per_day=30.0,
        stories=(Story(on=date(2026, 8, 1), what="wait", note="chain on order"),),
    ),
    replace(
        _CHAIN_PATROL, tag="LR-010", since=date(2023, 6, 5), km_per_day=26.0,
        stories=(Story(on=date(2026, 6, 1), what="rogue", value=4.0),
                 Story(on=date(2026, 7, 6), what="fit", value=1)),
    ),
    replace(
        _CHAIN_PATROL, tag="LR-011", depot=HARBOUR, since=date(2024, 4, 8), km_per_day=24.0,
        stories=(Story(on=date(2026, 3, 17), what="fit used", label="spare from a sold machine", value=0.0039,
                        note="found on the shelf, nobody knows its distance"),),
    ),
    replace(
        _BELT_PATROL, tag="LR-012", start_km=5530, since=date(2022, 5, 2), km_per_day=28.0,
        stories=(Story(on=date(2024, 6, 11), what="convert", stage="primary drive"),),
    ),
    replace(
        _BELT_PATROL, tag="LR-013", start_km=5215, since=date(2022, 5, 16), duty="off-road", km_per_day=21.0,
        stories=(Story(on=date(2024, 9, 24), what="convert", stage="primary drive"),),
    ),
    replace(
        _BELT_PATROL, tag="LR-014", depot=HARBOUR, start_km=4870, since=date(2022, 6, 20), km_per_day=25.0,
        stories=(Story(on=date(2025, 3, 13), what="convert", stage="primary drive"),),
    ),
    replace(
        _BELT_PATROL, tag="LR-015", depot=HARBOUR, since=date(2023, 2, 13), km_per_day=29.0,
        stories=(Story(on=date(2025, 10, 7), what="convert", stage="primary drive"),),
    ),
    replace(_HEAVY_PATROL, tag="LR-016", since=date(2023, 4, 3)),
    replace(_HEAVY_PATROL, tag="LR-017", depot=HARBOUR, since=date(2023, 4, 3), km_per_day=38.0),
    replace(
        _CARGO, tag="LC-01", start_km=1480, since=date(2022, 3, 1),
        stories=(Story(on=date(2026, 9, 21), what="wait", note="chain and cluster on order"),),
    ),
    replace(
        _CARGO, tag="LC-02", start_km=1320, since=date(2022, 3, 1), km_per_day=17.0,
        stories=(Story(on=date(2026, 11, 19), what="fit"),),
    ),
    replace(
        _CARGO, tag="LC-03", depot=UPPER, since=date(2023, 3, 6), km_per_day=12.0, duty="mixed",
        stories=(Story(on=date(2025, 2, 3), what="uncleaned"),),
    ),
    replace(_CARGO, tag="LC-04", depot=UPPER, since=date(2023, 3, 6), km_per_day=13.0, duty="mixed"),
    replace(_CARGO_HUB, tag="LC-05", start_km=2210, since=date(2022, 3, 14)),
    replace(
        _CARGO_HUB, tag="LC-06", start_km=1930, since=date(2022, 3, 14), km_per_day=17.0,
        stories=(Story(on=date(2025, 6, 17), what="fit used", label="demonstration chain", value=0.0021, distance=850.0,
                        note="from a demonstration bike, 850 km"),),
    ),
    replace(_CARGO_HUB, tag="LC-07", depot=UPPER, since=date(2024, 2, 5), km_per_day=14.0, stated_duty="unknown"),
    replace(_CARGO_BELT, tag="LC-08", since=date(2023, 5, 8), km_per_day=18.0),
    replace(
        _CARGO_BELT, tag="LC-09", since=date(2023, 5, 8),
        stories=(Story(on=date(2025, 3, 3), what="stands", until=date(2025, 8, 18), note="battery recalled"),),
    ),
    replace(_CARGO_BELT, tag="LC-10", depot=UPPER, since=date(2024, 5, 13), km_per_day=13.0),
    replace(_TRAIL_520, tag="LT-01", start_km=9120, since=date(2021, 4, 12),
            stories=(Story(on=date(2026, 11, 12), what="fit"),)),
    replace(_TRAIL_520, tag="LT-02", start_km=8800, since=date(2021, 4, 12), km_per_day=15.0),
    replace(
        _TRAIL_520, tag="LT-03", start_km=3650, since=date(2022, 7, 4), meter_unit="mi",
        notes="meter counts miles",
    ),
    replace(
        _TRAIL_520, tag="LT-04", start_km=6230, since=date(2021, 9, 6), km_per_day=14.0,
        set_ups=(catalogue.TRAIL_520_SHORT,), notes="short adjuster after swingarm repair",
        stories=(Story(on=date(2024, 9, 18), what="meter replaced", value=0, note="old meter lost with the fork"),),
    ),
    replace(_TRAIL_520, tag="LT-05", depot=HARBOUR, since=date(2023, 8, 7),
            stories=(Story(on=date(2024, 7, 16), what="shorten", note="chain came two links too long"),)),
    replace(
        _TRAIL_428, tag="LT-06", depot=HARBOUR, start_km=4410, since=date(2022, 4, 4),
        stories=(Story(on=date(2024, 11, 18), what="stands", until=date(2025, 3, 24), note="laid up for the winter"),
                 Story(on=date(2026, 5, 4), what="digit slip")),
    ),
    replace(_TRAIL_428, tag="LT-07", start_km=5000, since=date(2022, 4, 4), meter_unit="h",
            notes="hour meter, no distance meter"),
    replace(
        _TRAIL_428, tag="LT-09", start_km=11_380, since=date(2020, 6, 1),
        stories=(Story(on=date(2025, 5, 20), what="fit", value=1, label="LT-09 chain of 2025"),
                 Story(on=date(2025, 9, 30), what="take off", label="LT-09 chain of 2025"),
                 Story(on=date(2025, 9, 30), what="retire", note="frame cracked, sold for parts")),
    ),
    replace(
        _TRAIL_428, tag="LT-08", start_km=10_940, since=date(2020, 6, 1),
        stories=(Story(on=date(2025, 10, 21), what="put on", label="LT-09 chain of 2025"),),
    ),
    VehiclePlan(
        tag="LM-01", description="Moped, petrol", kind="moped", depot=HARBOUR, model="MP-1",
        set_ups=(catalogue.MOPED_FINAL,), duty="road", km_per_day=15.0, visit_km=1200.0, visit_days=84,
        start_km=91_700, since=date(2012, 4, 2), notes="five-digit meter",
    ),
    VehiclePlan(
        tag="LE-01", description="E-bike, mid drive, derailleur", kind="e-bike", depot=UPPER, model="EB-1",
        set_ups=(catalogue.CARGO_DERAILLEUR,), duty="mixed", km_per_day=11.0, visit_km=800.0, visit_days=90,
        since=date(2024, 3, 4),
    ),
    VehiclePlan(
        tag="LB-01", description="Patrol bicycle, derailleur", kind="bicycle", depot=HARBOUR, model="BC-D",
        set_ups=(catalogue.BICYCLE_DERAILLEUR,), duty="road", km_per_day=10.0, visit_km=900.0, visit_days=98,
        since=date(2023, 5, 2), summer=0.3, vehicle_factor=0.75,
    ),
    VehiclePlan(
        tag="LB-02", description="Patrol bicycle, hub gear", kind="bicycle", depot=HARBOUR, model="BC-H",
        set_ups=(catalogue.BICYCLE_HUB,), duty="road", km_per_day=8.0, visit_km=900.0, visit_days=98,
        start_km=640, since=date(2022, 5, 2), summer=0.3, vehicle_factor=0.75,
    ),
    replace(_TRAIL_428, tag="LT-10", depot=HARBOUR, since=date(2024, 4, 15), duty="mixed", km_per_day=14.0),
)  # fmt: skip
