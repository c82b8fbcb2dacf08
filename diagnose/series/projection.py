"""Least squares by projection: what columns explain of a row of readings, and what they leave.

Gram and Schmidt's way, done twice ("twice is enough": Giraud, Langou, Rozloznik and van den Eshof, Numer. Math.
101 (2005) 87), because columns of thousands of readings but few in number are quicker so than by a general
decomposition, and a column that is no more than the others together is noticed and left out.
"""

from __future__ import annotations

import numpy as np

from diagnose.series.log import Array

OWN = 1e-6  # of its length that a column must add to those before it


def orthonormal(columns: Array, basis: Array | None = None) -> Array:
    """An orthonormal basis (readings, k) of the columns, after those of `basis` if it is given."""
    found = np.empty((columns.shape[0], columns.shape[1] + (0 if basis is None else basis.shape[1])))
    count = 0
    if basis is not None:
        count = basis.shape[1]
        found[:, :count] = basis
    for column in columns.T:
        length = float(np.sqrt(column @ column))
        if length == 0.0:
            continue
        own = column / length
        for _ in range(2):
            own = own - found[:, :count] @ (found[:, :count].T @ own)
        rest = float(np.sqrt(own @ own))
        if rest > OWN:
            found[:, count] = own / rest
            count += 1
    return found[:, :count]


def without(basis: Array, values: Array) -> Array:
    """What a basis leaves of one row of readings, or of several columns."""
    return np.asarray(values - basis @ (basis.T @ values))


def least_squares(columns: Array, values: Array) -> tuple[Array, Array]:
    """Coefficients of the columns and the inverse of X'X: times the scatter squared, it is their covariance."""
    length = np.sqrt(np.sum(columns**2, axis=0))
    length = np.where(length > 0.0, length, 1.0)
    unit = columns / length
    inverse = np.linalg.pinv(unit.T @ unit, rcond=1e-12, hermitian=True)
    return inverse @ (unit.T @ values) / length, inverse / np.outer(length, length)
