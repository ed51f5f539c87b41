"""Wear trends learned from the fleet: arrays in, arrays out.

Wear is a share `u` of the allowance between as-new and the family's reference limit, distance `x` is in
1000 km (or 100 h where the meter counts hours). No database, no window, no clock: days and seeds come in.

Readings (`readings`)
    ``ReadingTable.from_columns(n_parts, part, x, r, y=None, lo=None, hi=None, x_start=None,
    has_unknown_history=None)`` pads ragged columns to arrays of shape (n_parts, n_readings); ``.take(rows)``,
    ``.until(n_readings)``; ``.row`` says which given row a reading came from.
    ``one_part(x, r, y=None, lo=None, hi=None, x_start=0.0, has_unknown_history=False)``: a table of one row.
    A point reading has `y`; a gauge reading has NaN there and ``lo < wear <= hi``, one end may be infinite.
    ``worn_out_reading()``: lo, hi and r that stand for a part that came off "worn out" without a reading.

Distance that does not all count alike (`stretches`): known changes of duty, lubricant or sprockets
    ``Stretches.of(since, factor)`` of one part, ``.times(other)``, ``.weighed(x)`` before `ReadingTable`,
    ``.plain(x)`` after a crossing, ``.now``, ``.factor_at(x)``;
    ``changed_rate(since, log_rate, log_rate_now=None) -> Stretches``.

Beliefs (`law`, `prior`)
    ``Theta``: the family's fitted numbers; ``WearLaw``: theta with gross errors, bedding-in and path;
    ``RatePrior.of(mean, sd)``: ln rate of n parts before their readings.
    ``read_wear_priors(table) -> WearPriors`` from the parsed ``limits/wear_priors.toml``;
    ``WearPriors.family_prior(wear_class, limit_percent=None, chain=None) -> FamilyPrior``,
    ``WearPriors.cell_mean(family_prior, duty) -> float`` for `FamilyData.engineering_mean`.

Fitting a family (`family`; underneath `family_data`, `path_choice`, `rounds`, `fleet_step`, `theta`,
`rate_grid`, `columns`, `filter`)
    ``FamilyData(readings, cell, engineering_mean, vehicle=None, limit=None)``,
    ``fit_family(data, prior, previous=None, progress=None, shape=None, seed=SEED) -> FamilyFit``: full refit;
    without `shape` the path is chosen anew, which takes a moment more; hand in the last one to keep it;
    ``refresh_family(fit, data, progress=None) -> FamilyFit``: theta and path kept;
    ``update_part(fit, readings, part=None, prior=None, limit=1.0) -> Posterior``: one part, milliseconds.
    ``FamilyFit``: ``.posterior`` of all parts, ``.law``, ``.tau``, ``.tau_vehicle``, ``.n_read_parts``,
    ``.similar_parts(cell)``, ``.rate_prior(parts=None)``,
    ``.new_part_prior(cell, vehicle=None, engineering_mean=None) -> RatePrior``, ``.to_numbers()``,
    ``FamilyFit.from_numbers(numbers, data=None)``.
    ``part_posterior(readings, prior, law, limit=1.0)`` (`posterior`) underneath, for any number of parts.

Predictions from a ``Posterior`` of n parts (`posterior`, `crossing`, `next_reading`, `smoothing`)
    ``wear_quantiles(posterior, x, p)`` (n, n_x, n_p); ``wear_mean_sd(posterior, x)`` two of (n, n_x);
    ``crossing_cdf(posterior, x)`` (n, n_x); ``crossing_quantiles(posterior, p=CROSSING_LEVELS)`` (n, n_p), x;
    ``remaining_quantiles(posterior, p=CROSSING_LEVELS)``: the same counted from the last reading;
    ``equally_likely_crossings(posterior, count=50)`` (n, count); ``past_probability(posterior)`` (n,);
    ``next_reading_cdf(posterior, x, value, r)``, ``next_reading_quantiles(posterior, x, p, r)``;
    ``smoothed_mean_sd(posterior, readings, x)``, ``smoothed_band(posterior, readings, x, p)`` between
    readings; ``past_crossing(posterior, readings)`` (n,), NaN where the median has not passed the limit.
    ``FARTHEST_WEAR``: nothing is forecast beyond this share of the allowance.

Suspect readings (`next_reading`, `suspect`)
    ``reading_tail(posterior, x, r, y=None, lo=None, hi=None)`` while typing (`UNUSUAL_TAIL`, `SUSPECT_TAIL`);
    ``fall_ratio(before, r_before, y, r, error_factor)`` (`GREATEST_FALL`);
    ``suspect_probability(readings, prior, law)`` (n, n_readings) (`DOUBTFUL`, `SUSPECT`);
    ``caution_posterior(readings, prior, law, suspect, limit=1.0)``;
    ``earlier_crossing(posterior, caution, p) -> CautiousCrossing``;
    ``reading_side(posterior, readings)``, ``has_suspect_run(suspect, side)``.

Usage and dates (`usage`, `season`, `dates`)
    ``MeterIntervals.from_entries(vehicle, day, total, is_broken=None)``, ``UsagePrior`` (`NEW_SHOP_KM`,
    `NEW_SHOP_HOURS`), ``fit_usage_prior(intervals, before=NEW_SHOP_KM, operational_days=None)``,
    ``fit_usage(intervals, prior, last_day=None, clock=ALWAYS_OUT) -> Usage``;
    ``OperationalDays(lay_ups=(), factors=())``: lay-ups and season;
    ``season_factors(vehicle, first_day, last_day, distance, clocks=None)``;
    ``distance_ahead(crossing, x_at_entry, per_x=KM_PER_X)``;
    ``date_distribution(distance, usage, clock, last_entry_day) -> DateDistribution`` with ``.cdf(days)``,
    ``.days_at(p)``, ``.due_day(level, last_entry_day, today)``; ``date_spread(...)``: by wear, and by use.
    ``date_distributions(distances, usages, clocks, last_entry_days) -> DateDistributions`` (`date_table`):
    many parts at once, ``.cdf(days)``, ``.days_at(p)`` (n, n_p), ``.due_days(level, today)``.

The shop's own record (`backtest`, `checks`, `survival`)
    ``quick_backtest(fit, data, seed, progress) -> Backtest``: with what the whole fleet has taught;
    ``honest_backtest(data, day, prior, shape, steps, seed, progress)``: the future left out;
    ``Backtest.readings``, ``.crossings``: ``Checks`` with ``.coverage(width) -> Coverage``, ``.level``
    (PIT), ``.median_error(by_line=False, is_relative=False)``, ``.take(chosen)``; ``.is_off``; `WIDTHS`;
    ``kaplan_meier(x, is_failed, x_entry=None) -> SurvivalCurve`` with ``.at(x)``, ``.interval(width)``,
    ``.quantile(p)``, ``.quantile_interval(p)``.
"""
