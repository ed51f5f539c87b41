"""A fit that is kept, and what it says of the parts as they are now.

Between two full fits the fleet's word is kept as it was: a new reading changes what is known of its own part,
everything else kept. That is what makes a saved sheet cheap, and it comes out the same whether the program
stayed open or was started anew: parts are matched by what they are, not by their place in a list.
"""

import json
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wearlog.forecast.family import FamilyData, FamilyFit
from wearlog.forecast.fleet_layout import FleetLayout
from wearlog.forecast.fleet_step import FleetStep, Messages, nothing_learnt
from wearlog.forecast.law import RatePrior
from wearlog.forecast.posterior import Posterior, part_posterior
from wearlog.forecast.readings import ReadingTable
from wearlog.workshop.wear_items import WearItem

#: A part, and the total use at which a belt's spell between tensionings began; -1 for what wears from new.
PartKey = tuple[int, float]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def part_key(item: WearItem) -> PartKey:
    """Return what tells a part, or a spell of a belt, from all others."""
    return item.installation.part_id, -1.0 if item.since_use is None else item.since_use


@dataclass(frozen=True, slots=True)
class KeptFit:
    """A fit, of whom it was made, and from how many readings.

    Attributes
    ----------
    fit
        What the shop has learnt of a family.
    place
        Row of each part in the fit.
    cells
        Names of the fit's cells.
    at_fit, at_shape
        Readings of the family when theta and the spreads were fitted, and when the path was chosen.
    span
        Median wear allowance of the parts then, canonical unit; another one makes all figures mean something
        else.
    """

    fit: FamilyFit
    place: dict[PartKey, int]
    cells: tuple[str, ...]
    at_fit: int
    at_shape: int
    span: float

    def to_text(self) -> str:
        """Return it as JSON text, to be kept."""
        counts = {"at_fit": self.at_fit, "at_shape": self.at_shape, "span": self.span}
        whom = {"parts": list(self.place), "cells": self.cells}
        return json.dumps({**counts, **whom, "fit": self.fit.to_numbers()}, separators=(",", ":"))

    @classmethod
    def from_text(cls, text: str) -> "KeptFit | None":
        """Return a kept one, without the posteriors of its parts; None if it does not say whose it is."""
        numbers = json.loads(text)
        if "parts" not in numbers:
            return None
        return cls(
            fit=FamilyFit.from_numbers(numbers["fit"]),
            place={(int(part), float(since)): row for row, (part, since) in enumerate(numbers["parts"])},
            cells=tuple(numbers["cells"]),
            at_fit=numbers["at_fit"],
            at_shape=numbers["at_shape"],
            span=numbers["span"],
        )

    def said_of(self, items: list[WearItem], data: FamilyData) -> FamilyFit:
        """Return what the fit says of some parts as they are now, each after its readings.

        Parameters
        ----------
        items
            The n parts.
        data
            Their readings, and where they run; the cells are those of the fit, then new ones.
        """
        layout = data.layout()
        step = self.step_of(layout)
        rows = np.array([self.place.get(part_key(item), -1) for item in items], dtype=np.int64)
        known = np.flatnonzero(rows >= 0)
        old = self.fit.layout
        is_there = (old.cell[rows[known]] == layout.cell[known]) & (
            old.vehicle_key[old.vehicle[rows[known]]] == layout.vehicle_key[layout.vehicle[known]]
        )
        known = known[is_there]
        prior, messages = _new_parts(step, layout), nothing_learnt(len(items))
        prior.mean[known], prior.sd[known] = (
            self.fit.step.prior.mean[rows[known]],
            self.fit.step.prior.sd[rows[known]],
        )
        messages.value[known] = self.fit.messages.value[rows[known]]
        messages.variance[known] = self.fit.messages.variance[rows[known]]
        return FamilyFit(
            prior=self.fit.prior,
            law=self.fit.law,
            layout=layout,
            messages=messages,
            step=replace(step, prior=prior),
            shown=part_posterior(data.readings, prior, self.fit.law, data.limits()),
        )

    def step_of(self, layout: FleetLayout) -> FleetStep:
        """Return the fleet's word with vehicles counted as in a layout, and new cells believed in as such."""
        step, fit = self.fit.step, self.fit
        more = layout.n_cells - fit.layout.n_cells
        size = step.beta.size
        covariance = np.diag(np.full(size + more, fit.prior.cell_sd**2))
        covariance[:size, :size] = step.covariance
        effect = np.zeros(layout.n_vehicles)
        variance = np.full(layout.n_vehicles, step.tau_vehicle**2)
        keys = fit.layout.vehicle_key
        place = np.clip(np.searchsorted(keys, layout.vehicle_key), 0, max(keys.size - 1, 0))
        is_known = (keys[place] == layout.vehicle_key) if keys.size else np.zeros(place.size, dtype=np.bool_)
        effect[is_known] = step.vehicle_effect[place[is_known]]
        variance[is_known] = step.vehicle_variance[place[is_known]]
        return replace(
            step,
            beta=np.concatenate([step.beta, np.zeros(more)]),
            covariance=covariance,
            vehicle_effect=effect,
            vehicle_variance=variance,
        )


def _new_parts(step: FleetStep, layout: FleetLayout) -> RatePrior:
    """Return the belief about parts that are new to the fleet, each in its cell and on its vehicle."""
    cell = 1 + layout.cell
    mean = layout.engineering_mean[layout.cell] + step.beta[0] + step.beta[cell]
    inner = np.diagonal(step.covariance)
    variance = step.tau**2 + inner[0] + 2.0 * step.covariance[0, cell] + inner[cell]
    mean = mean + step.vehicle_effect[layout.vehicle]
    variance = variance + step.vehicle_variance[layout.vehicle]
    return RatePrior(mean, np.sqrt(variance))


def spliced_fit(before: FamilyFit, some: FamilyFit, rows: Ints, data: FamilyData, kept: KeptFit) -> FamilyFit:
    """Return what is said of all parts, with what is said of some in place of what was.

    Parameters
    ----------
    before
        Of the parts as they were.
    some
        Of some parts as they are now.
    rows
        Where these belong; rows beyond the end are new parts.
    data
        Of all parts as they are now.
    """
    layout = before.layout
    is_same = layout.cell.size == data.cell.size and np.array_equal(layout.cell, data.cell)
    if (
        data.vehicle is None
        or not is_same
        or not np.array_equal(layout.vehicle_key[layout.vehicle], data.vehicle)
    ):
        layout = data.layout()
    if before.shown is None or some.shown is None:
        raise ValueError("only fits with their readings can be joined")
    posterior = _spliced_posterior(before.shown, some.shown, rows)
    prior = RatePrior(
        spliced(before.step.prior.mean, some.step.prior.mean, rows),
        spliced(before.step.prior.sd, some.step.prior.sd, rows),
    )
    messages = Messages(
        spliced(before.messages.value, some.messages.value, rows),
        spliced(before.messages.variance, some.messages.variance, rows),
    )
    step = before.step if layout is before.layout else kept.step_of(layout)
    return FamilyFit(
        prior=before.prior,
        law=before.law,
        layout=layout,
        messages=messages,
        step=replace(step, prior=prior),
        shown=posterior,
    )


def spliced_table(before: ReadingTable, some: ReadingTable, rows: Ints, columns: int) -> ReadingTable:
    """Return the readings of all parts, with those of some in place of what was.

    Parameters
    ----------
    columns
        How many columns `before` was made of: those of `some` are counted on from there.
    """
    nan = float("nan")
    return ReadingTable(
        x=spliced(before.x, some.x, rows),
        y=spliced(before.y, some.y, rows, nan),
        lo=spliced(before.lo, some.lo, rows, nan),
        hi=spliced(before.hi, some.hi, rows, nan),
        r=spliced(before.r, some.r, rows, 1.0),
        count=spliced(before.count, some.count, rows),
        x_start=spliced(before.x_start, some.x_start, rows),
        has_unknown_history=spliced(before.has_unknown_history, some.has_unknown_history, rows),
        row=spliced(before.row, np.where(some.row >= 0, some.row + columns, -1), rows, -1),
    )


def _spliced_posterior(before: Posterior, some: Posterior, rows: Ints) -> Posterior:
    return Posterior(
        law=before.law,
        weight=spliced(before.weight, some.weight, rows),
        node=spliced(before.node, some.node, rows),
        rate=spliced(before.rate, some.rate, rows),
        mean=spliced(before.mean, some.mean, rows),
        variance=spliced(before.variance, some.variance, rows),
        x_last=spliced(before.x_last, some.x_last, rows),
        limit=spliced(before.limit, some.limit, rows),
        log_evidence=spliced(before.log_evidence, some.log_evidence, rows),
        count=spliced(before.count, some.count, rows),
        has_unknown_history=spliced(before.has_unknown_history, some.has_unknown_history, rows),
    )


def spliced(before: NDArray, some: NDArray, rows: Ints, pad: float | None = None) -> NDArray:  # type: ignore[type-arg]
    """Return an array with some rows put in place or added at the end; columns are padded to the wider one.

    Parameters
    ----------
    rows
        Where each row of `some` belongs.
    pad
        What fills columns that are missing; None repeats the last one.
    """
    n = max(before.shape[0], int(rows.max(initial=-1)) + 1)
    if before.ndim == 1:
        joined = np.empty(n, dtype=before.dtype)
        joined[: before.size] = before
        joined[rows] = some
        return joined
    width = max(before.shape[1], some.shape[1])
    joined = np.empty((n, width), dtype=before.dtype)
    joined[: before.shape[0]] = _widened(before, width, pad)
    joined[rows] = _widened(some, width, pad)
    return joined


def _widened(array: NDArray, width: int, pad: float | None) -> NDArray:  # type: ignore[type-arg]
    more = width - array.shape[1]
    if more == 0:
        return array
    if pad is None:
        return np.concatenate([array, np.repeat(array[:, -1:], more, axis=1)], axis=1)
    return np.concatenate([array, np.full((array.shape[0], more), pad, dtype=array.dtype)], axis=1)
