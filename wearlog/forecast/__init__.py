"""Wear trends learned from the fleet: arrays in, arrays out.

Wear is a share `u` of the allowance between as-new and the family's reference limit, distance `x` is in
1000 km (or 100 h where the meter counts hours). No database, no window, no clock: days and seeds are handed in.

Readings (`readings`)
    ``ReadingTable.from_columns(n_parts, part, x, r, y=None, lo=None, hi=None, x_start=None,
    has_unknown_history=None)`` pads ragged columns to arrays of shape (n_parts, n_readings); ``.take(rows)``.
    ``one_part(x, r, y=None, lo=None, hi=None, x_start=0.0, has_unknown_history=False)`` is a table of one row.
    A point reading has `y`; a gauge reading has NaN there and ``lo < wear <= hi``, either end may be infinite.
    ``worn_out_reading()`` is what stands for a part that came off "worn out" without a reading.

Priors (`prior`)
    ``read_wear_priors(table: Mapping[str, Any]) -> WearPriors`` from the parsed ``limits/wear_priors.toml``;
    ``WearPriors.family_prior(wear_class, limit_percent=None, chain=None) -> FamilyPrior`` and
    ``WearPriors.cell_mean(family_prior, duty) -> float``. ``Theta`` holds the family's fitted numbers,
    ``WearLaw`` theta with gross errors, bedding-in and path shape, ``RatePrior(mean, sd)`` ln rate before readings.

Fitting a family (`family`)
    ``FamilyData(readings, cell, engineering_mean, vehicle=None, limit=None)``,
    ``fit_family(data, prior, previous=None, progress=Silent(), shape=None, seed=...) -> FamilyFit`` (full refit),
    ``refresh_family(fit, data, progress=Silent()) -> FamilyFit`` (theta kept),
    ``update_part(fit, readings, part=None, prior=None, limit=1.0) -> Posterior`` (one part, milliseconds).
    ``FamilyFit``: ``.posterior`` (all parts), ``.law``, ``.tau``, ``.tau_vehicle``, ``.rate_prior(parts=None)``,
    ``.new_part_prior(cell, vehicle=None, engineering_mean=None)``, ``.to_numbers()``,
    ``FamilyFit.from_numbers(numbers, data=None)``, ``.n_read_parts``.
    ``part_posterior(readings, prior, law, limit=1.0) -> Posterior`` underneath, for any number of parts.

Predictions from a ``Posterior`` of n parts (`posterior`, `crossing`, `next_reading`, `smoothing`)
    ``wear_quantiles(posterior, x, p)`` (n, n_x, n_p); ``wear_mean_sd(posterior, x)`` two of (n, n_x);
    ``crossing_cdf(posterior, x)`` (n, n_x); ``crossing_quantiles(posterior, p=CROSSING_LEVELS)`` (n, n_p), as x;
    ``remaining_quantiles(posterior, p=CROSSING_LEVELS)`` the same counted from the last reading;
    ``equally_likely_crossings(posterior, count=50)`` (n, count); ``past_probability(posterior)`` (n,);
    ``next_reading_cdf(posterior, x, value, r)``, ``next_reading_quantiles(posterior, x, p, r)``;
    ``smoothed_mean_sd(posterior, readings, x)``, ``smoothed_band(posterior, readings, x, p)`` between readings;
    ``past_crossing(posterior, readings)`` (n,), NaN where the median has not passed the limit.

Suspect readings (`suspect`)
    ``reading_tail(posterior, x, r, y=None, lo=None, hi=None)`` while typing; ``fall_ratio(...)``;
    ``suspect_probability(readings, prior, law)`` (n, n_readings);
    ``caution_posterior(readings, prior, law, suspect, limit=1.0)``; ``earlier_crossing(posterior, caution, p)``.

Usage and dates (`usage`, `season`, `dates`)
    ``UsagePrior``, ``MeterIntervals.from_entries(vehicle, day, total, ...)``, ``fit_usage_prior(intervals)``,
    ``fit_usage(intervals, prior, last_day) -> Usage``; ``season_factors(...)``, ``OperationalDays`` (lay-ups, season);
    ``date_distribution(distance_ahead, usage, clock) -> DateDistribution`` with ``.cdf(days)``, ``.days_at(p)``.
"""
