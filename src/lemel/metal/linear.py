"""Small dense linear systems in plain Python, so that one alloy costs no array overhead."""

from __future__ import annotations

__all__ = ["pivots", "solve"]


def solve(matrix: list[list[float]], right: list[float]) -> list[float] | None:
    """x with matrix x = right, by elimination with row pivoting; None where it is singular.

    Both arguments are used up.

    >>> solve([[2.0, 1.0], [1.0, 3.0]], [3.0, 5.0])
    [0.8, 1.4]
    """
    size = len(right)
    for col in range(size):
        pivot = max(range(col, size), key=lambda r: abs(matrix[r][col]))
        lead = matrix[pivot]
        if not abs(lead[col]) > 0.0:
            return None
        if pivot != col:
            matrix[col], matrix[pivot] = lead, matrix[col]
            right[col], right[pivot] = right[pivot], right[col]
        inverse = 1.0 / lead[col]
        for r in range(col + 1, size):
            row = matrix[r]
            factor = row[col] * inverse
            if factor:
                for k in range(col + 1, size):
                    row[k] -= factor * lead[k]
                right[r] -= factor * right[col]
    for r in range(size - 1, -1, -1):
        row = matrix[r]
        total = right[r]
        for k in range(r + 1, size):
            total -= row[k] * right[k]
        right[r] = total / row[r]
    return right


def pivots(matrix: list[list[float]]) -> list[float]:
    """Pivots of elimination without row exchange: all positive for a positive definite matrix.

    The matrix is used up. The first pivot that is not positive ends the list.
    """
    found = []
    for col in range(len(matrix)):
        lead = matrix[col][col]
        found.append(lead)
        if lead <= 0:
            break
        for row in matrix[col + 1 :]:
            factor = row[col] / lead
            for k in range(col, len(matrix)):
                row[k] -= factor * matrix[col][k]
    return found
