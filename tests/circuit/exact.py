"""Nodal elimination in fractions: slow, plain and without rounding."""

from __future__ import annotations

from fractions import Fraction

Branch = tuple[int, int, Fraction, Fraction]  # from, to, siemens, amperes that it sends besides


def islands(nodes: int, branches: list[Branch]) -> list[int]:
    """For each node the lowest node that it is connected with."""
    label = list(range(nodes))
    for _ in range(nodes):
        for a, b, siemens, _ in branches:
            if siemens:
                label[a] = label[b] = min(label[a], label[b])
    return label


def voltages(nodes: int, branches: list[Branch]) -> list[Fraction]:
    """Voltages with the lowest node of each island at zero; no current may flow between islands."""
    matrix = [[Fraction(0)] * (nodes + 1) for _ in range(nodes)]
    for a, b, siemens, amperes in branches:
        for i, j in ((a, b), (b, a)):
            matrix[i][i] += siemens
            matrix[i][j] -= siemens
        matrix[a][nodes] -= amperes
        matrix[b][nodes] += amperes
    for node, low in enumerate(islands(nodes, branches)):
        if node == low:
            matrix[node] = [Fraction(int(i == node)) for i in range(nodes)] + [Fraction(0)]
    return _eliminated(matrix)


def _eliminated(matrix: list[list[Fraction]]) -> list[Fraction]:
    for column in range(len(matrix)):
        pivot = next(row for row in range(column, len(matrix)) if matrix[row][column])
        matrix[column], matrix[pivot] = matrix[pivot], matrix[column]
        head = matrix[column]
        for row in range(len(matrix)):
            if row != column and (factor := matrix[row][column] / head[column]):
                matrix[row] = [x - factor * y for x, y in zip(matrix[row], head, strict=True)]
    return [row[-1] / row[i] for i, row in enumerate(matrix)]
