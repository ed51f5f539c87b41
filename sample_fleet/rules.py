"""The workshop's own intervals and limits; everything else is left to the defaults of the reader."""

from sample_fleet.books import Row

#: Riders clean and lubricate between services, so the bench comes round less often than the books say:
#: kind of vehicle, then km, h and days between lubricating, cleaning, inspecting and measuring.
_ROUNDS: tuple[tuple[str, dict[str, tuple[str, str, str]]], ...] = (
    (
        "electric motorcycle",
        {
            "lubricate": ("1500", "", "90"),
            "clean": ("2500", "", "120"),
            "inspect": ("2500", "", "120"),
            "measure": ("3000", "", "180"),
        },
    ),
    (
        "petrol motorcycle",
        {
            "lubricate": ("1200", "40", "90"),
            "clean": ("1500", "50", "120"),
            "inspect": ("2000", "60", "120"),
            "measure": ("2000", "60", "180"),
        },
    ),
    (
        "cargo e-bike",
        {"lubricate": ("900", "", "75"), "clean": ("1200", "", "90"), "measure": ("1000", "", "120")},
    ),
    ("e-bike", {"lubricate": ("900", "", "90"), "clean": ("1200", "", "120")}),
    ("bicycle", {"lubricate": ("900", "", "90"), "clean": ("1200", "", "120")}),
    (
        "moped",
        {"lubricate": ("1000", "", "90"), "clean": ("1500", "", "120"), "inspect": ("2000", "", "180")},
    ),
)


def _rounds() -> tuple[Row, ...]:
    rows: list[Row] = []
    for kind, tasks in _ROUNDS:
        for task, (km, h, days) in tasks.items():
            row = {"task": task, "every [km]": km, "every [h]": h, "every [d]": days}
            row |= {"vehicle kind": kind, "drive": "chain", "source": "workshop rule"}
            rows.append({name: text for name, text in row.items() if text})
    return tuple(rows)


INTERVAL_RULES: tuple[Row, ...] = (
    *_rounds(),
    {
        "task": "check torque",
        "first [km]": "100",
        "after fitting": "yes",
        "drive": "chain",
        "note": "sprockets and axle after a new chain",
        "source": "common practice, no source",
    },
    {
        "task": "clean",
        "every [h]": "25",
        "vehicle": "LT-07",
        "stage": "final drive",
        "note": "ridden on sand",
        "source": "workshop rule",
    },
)

LIMITS: tuple[Row, ...] = (
    {
        "measurand": "chain elongation",
        "wear class": "derailleur cycle chain",
        "service limit": "0.75 %",
        "as new": "0 %",
        "plan share": "0.75",
        "stop-use limit": "1.2 %",
        "source": "workshop rule: protect the cluster",
    },
    {
        "measurand": "chain elongation",
        "wear class": "hub-gear cycle chain",
        "service limit": "1.0 %",
        "as new": "0 %",
        "plan share": "0.75",
        "stop-use limit": "1.5 %",
        "source": "common practice, no source",
    },
    {
        "measurand": "static belt tension",
        "wear class": "toothed belt",
        "service limit": "200 N",
        "as new": "330 N",
        "plan share": "0.75",
        "model": "PM-B",
        "stage": "primary drive",
        "source": "conversion notes of the workshop",
    },
    {
        "measurand": "static belt tension",
        "wear class": "toothed belt",
        "service limit": "400 N",
        "as new": "620 N",
        "plan share": "0.75",
        "model": "PM-X",
        "stage": "primary drive",
        "source": "conversion notes of the workshop",
    },
    {
        "measurand": "static belt tension",
        "wear class": "toothed belt",
        "service limit": "130 N",
        "as new": "210 N",
        "plan share": "0.75",
        "model": "CB-B",
        "stage": "final drive",
        "source": "workshop rule",
    },
    {
        "measurand": "sprocket tooth thickness",
        "wear class": "sprocket",
        "service limit": "2.10 mm",
        "as new": "4.19 mm",
        "plan share": "0.75",
        "designation": "08B-1",
        "source": "half of pitch less roller, as roller-chain tables",
    },
    {
        "measurand": "sprocket tooth thickness",
        "wear class": "sprocket",
        "service limit": "2.48 mm",
        "as new": "4.95 mm",
        "plan share": "0.75",
        "designation": "1/2 x 3/32",
        "source": "half of pitch less roller, as roller-chain tables",
    },
    {
        "measurand": "sprocket tooth thickness",
        "wear class": "sprocket",
        "service limit": "2.48 mm",
        "as new": "4.95 mm",
        "plan share": "0.75",
        "designation": "1/2 x 1/8",
        "source": "half of pitch less roller, as roller-chain tables",
    },
    {
        "measurand": "slack",
        "wear class": "primary roller chain",
        "service limit": "20 mm",
        "as new": "8 mm",
        "plan share": "0.75",
        "designation": "08B-1",
        "source": "workshop rule",
    },
    {
        "measurand": "slack",
        "wear class": "open motorcycle chain",
        "service limit": "60 mm",
        "as new": "40 mm",
        "plan share": "0.75",
        "model": "TM-5",
        "source": "workshop rule: long travel, mud",
    },
)
