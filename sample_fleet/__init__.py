"""Larkfell Ranger Service: an invented fleet with three years of workshop records and a known truth.

Two depots, about forty light two-wheelers, records up to and including 2026-11-20; the sample is meant to be
looked at on 2026-11-23. Names, tags, lots and people are invented.

``csv/``
    The records as a workshop would hand them over, in the import format of wearlog, and ``scenario.toml``,
    which says from which day the fleet is to be looked at.
``truth/``
    What no workshop knows: the laws, the true wear at each reading, the distance at which each part reaches
    its limit, the errors of the instruments, the misreads, and where each piece of the mess is. It is never
    imported.

The wear laws are this package's own and not those of any forecast: gamma-process wear whose rate depends on
vehicle, rider, duty, weather, lubrication, lot and the sprockets; a bedding-in that saturates; late
acceleration on some chains. Nothing of wearlog is imported here, so that a forecast can be judged against it.

``python -m sample_fleet.generate [--output DIR] [--seed N]`` writes both folders again, byte for byte.
"""
