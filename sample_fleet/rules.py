"""The workshop's own intervals and limits; everything else is left to the defaults of the reader."""

from sample_fleet.books import Row

INTERVAL_RULES: tuple[Row, ...] = (
    {
        "task": "lubricate",
        "every [km]": "300",
        "every [d]": "35",
        "vehicle kind": "cargo e-bike",
        "drive": "chain",
        "note": "harbour salt",
        "source": "workshop rule",
    },
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
        "every [h]": "20",
        "vehicle": "LT-07",
        "stage": "final drive",
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
)
