"""What a family is fitted from: readings of all its parts, and where the parts run."""

from dataclasses import dataclass

import numpy as np

from wearlog.forecast.fleet_step import FleetLayout
from wearlog.forecast.readings import Floats, Ints, ReadingTable


@dataclass(frozen=True, slots=True)
class FamilyData:
    """Readings of all parts of a family, and where the parts run.

    Attributes
    ----------
    readings : ReadingTable
        Readings of n parts.
    cell : ndarray of int, shape (n_parts,)
        Stage and duty of each part, 0 to n_cells - 1, [-].
    engineering_mean : ndarray of float, shape (n_cells,)
        Mean of ln rate of each cell before the shop's readings, [-].
    vehicle : ndarray of int, shape (n_parts,), optional
        The caller's number of the vehicle; negative where it does not matter, [-].
    limit : ndarray of float, shape (n_parts,), optional
        The part's own limit over the family's reference limit, 1 if not given, [-].

    Raises
    ------
    ValueError
        Naming row and column of the first value that does not fit.
    """

    readings: ReadingTable
    cell: Ints
    engineering_mean: Floats
    vehicle: Ints | None = None
    limit: Floats | None = None

    def __post_init__(self) -> None:
        """Refuse what does not fit together."""
        n = len(self.readings)
        for name, column in (("cell", self.cell), ("vehicle", self.vehicle), ("limit", self.limit)):
            if column is not None and column.shape != (n,):
                raise ValueError(f"column {name}: shape {column.shape} for {n} parts")
        is_cell = (self.cell >= 0) & (self.cell < self.engineering_mean.size)
        if not is_cell.all():
            raise ValueError(f"row {int(np.argmin(is_cell))}, column cell: is not one of the cells")
        is_mean = np.isfinite(self.engineering_mean)
        if not is_mean.all():
            raise ValueError(f"row {int(np.argmin(is_mean))}, column engineering_mean: is not finite")
        if self.limit is not None:
            is_limit = np.isfinite(self.limit) & (self.limit > 0.0)
            if not is_limit.all():
                raise ValueError(f"row {int(np.argmin(is_limit))}, column limit: is not positive")

    def layout(self) -> FleetLayout:
        """Return cells and vehicles of the parts."""
        return FleetLayout.of(self.cell, self.vehicle, self.engineering_mean)

    def limits(self) -> Floats:
        """Return the own limit of each part, shape (n_parts,), [-]."""
        return np.ones(len(self.readings)) if self.limit is None else self.limit
