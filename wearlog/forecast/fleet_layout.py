"""Which part sits in which cell and on which vehicle."""

from dataclasses import dataclass

import numpy as np

from wearlog.forecast.readings import Floats, Ints


@dataclass(frozen=True, slots=True)
class FleetLayout:
    """Which part sits in which cell and on which vehicle, and the pairs of cells that share a vehicle.

    Attributes
    ----------
    cell, vehicle : ndarray of int, shape (n_parts,)
        Cell, and vehicle counted from 0, of each part, [-].
    n_cells, n_vehicles : int
        How many there are, [-].
    engineering_mean : ndarray of float, shape (n_cells,)
        Mean of ln rate of each cell before the shop's readings, [-].
    vehicle_key : ndarray of int, shape (n_vehicles,)
        The caller's number of each vehicle, -1 where a part stands alone, [-].
    place : ndarray of int, shape (n_parts,)
        Which (vehicle, cell) pair each part belongs to, [-].
    place_vehicle, place_cell : ndarray of int, shape (n_places,)
        Vehicle and cell of each pair, [-].
    first, second : ndarray of int, shape (n_couples,)
        Pairs that share a vehicle, each with itself and with each later one, [-].
    """

    cell: Ints
    vehicle: Ints
    n_cells: int
    n_vehicles: int
    engineering_mean: Floats
    vehicle_key: Ints
    place: Ints
    place_vehicle: Ints
    place_cell: Ints
    first: Ints
    second: Ints

    @classmethod
    def of(cls, cell: Ints, vehicle: Ints | None, engineering_mean: Floats) -> "FleetLayout":
        """Return the layout of a fleet.

        Parameters
        ----------
        cell : ndarray of int, shape (n_parts,)
            Cell of each part, [-].
        vehicle : ndarray of int, shape (n_parts,) or None
            Vehicle of each part, any numbers; negative or None is a vehicle of its own, [-].
        engineering_mean : ndarray of float, shape (n_cells,)
            Mean of ln rate of each cell, [-].
        """
        n_cells = engineering_mean.shape[0]
        alone = np.arange(cell.size, dtype=np.int64)
        given = np.full(cell.size, -1, dtype=np.int64) if vehicle is None else vehicle
        above = int(given.max(initial=-1)) + 1
        key, number = np.unique(np.where(given < 0, above + alone, given), return_inverse=True)
        numbered = number.ravel()
        pair, place = np.unique(numbered * n_cells + cell, return_inverse=True)
        place_vehicle, place_cell = pair // n_cells, pair % n_cells
        n_vehicles = key.size
        per_vehicle = np.bincount(place_vehicle, minlength=n_vehicles)
        begin = np.cumsum(per_vehicle) - per_vehicle
        first = np.repeat(np.arange(pair.size), per_vehicle[place_vehicle])
        within = np.arange(first.size) - np.repeat(
            np.cumsum(per_vehicle[place_vehicle]) - per_vehicle[place_vehicle], per_vehicle[place_vehicle]
        )
        second = begin[place_vehicle[first]] + within
        is_once = first <= second
        first, second = first[is_once], second[is_once]
        return cls(
            cell=cell,
            vehicle=numbered.astype(np.int64),
            n_cells=n_cells,
            n_vehicles=n_vehicles,
            engineering_mean=engineering_mean,
            vehicle_key=np.where(key >= above, -1, key),
            place=place.ravel().astype(np.int64),
            place_vehicle=place_vehicle.astype(np.int64),
            place_cell=place_cell.astype(np.int64),
            first=first,
            second=second,
        )

    def vehicle_number(self, key: int) -> int | None:
        """Return how a vehicle is counted here, or None if no part of it is known.

        Parameters
        ----------
        key : int
            The caller's number of the vehicle, [-].
        """
        found = np.flatnonzero((self.vehicle_key == key) & (self.vehicle_key >= 0))
        return int(found[0]) if found.size else None
