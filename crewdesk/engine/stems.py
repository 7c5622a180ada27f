"""Paths by how they begin: what is still open to a tyre behind the loops it has run."""

import numpy as np
from numpy.typing import NDArray

from crewdesk.engine.tree import Tree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Stems:
    """The beginnings of all paths of a tree, one layer of them for each loop.

    Paths lie sorted by group and code, so those with the same beginning lie side by side.
    """

    def __init__(self, tree: Tree) -> None:
        n_loops = tree.n_loops
        self.first: list[Ints] = []
        """By loops run, (n,): first path of each stem."""
        self.child: list[Ints] = []
        """By loop, (n, 5): stem behind each step, or -1 where it is not open."""
        self.row: list[Ints] = []
        """By loop, (n of the next layer,): row in that loop, or -1 off the car."""
        stem: Ints = np.zeros(0, dtype=np.int64)
        for depth in range(n_loops + 1):
            begin = tree.code // 5 ** (n_loops - depth)
            new = np.ones(tree.size, dtype=bool)
            new[1:] = (tree.leaf_group[1:] != tree.leaf_group[:-1]) | (begin[1:] != begin[:-1])
            first = np.flatnonzero(new)
            if depth:
                child = np.full((self.first[-1].size, 5), -1, dtype=np.int64)
                child[stem[first], begin[first] % 5] = np.arange(first.size)
                self.child.append(child)
                self.row.append(tree.rows[depth - 1, first])
            self.first.append(first)
            stem = np.cumsum(new) - 1
        self.root = np.full(tree.first.size - 1, -1, dtype=np.int64)
        """(G,), the stem of each group before the first loop, or -1."""
        there = np.flatnonzero(tree.first[1:] > tree.first[:-1])
        self.root[there] = np.arange(there.size)

    def least(self, values: Floats) -> list[Floats]:
        """Return, by loops run, the least value of the paths behind each stem."""
        return [np.minimum.reduceat(values, first) for first in self.first]
