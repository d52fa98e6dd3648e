"""A column of cells as its distinct texts: what depends on a text alone is worked out once for each."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class Distinct:
    """A column of texts: each distinct text once, and which of them each row holds.

    >>> column = Distinct.of(["a", "b", "a"])
    >>> column.distinct, column.index.tolist(), column[2]
    (['a', 'b'], [0, 1, 0], 'a')
    """

    distinct: list[str]
    index: NDArray[np.integer]

    @classmethod
    def of(cls, texts: Sequence[str]) -> "Distinct":
        """The column of a list of texts."""
        places = {text: i for i, text in enumerate(dict.fromkeys(texts))}
        return cls(list(places), np.fromiter(map(places.__getitem__, texts), np.intp, len(texts)))

    def __len__(self) -> int:
        return self.index.size

    def __getitem__(self, row: int) -> str:
        return self.distinct[self.index[row]]

    def __iter__(self) -> Iterator[str]:
        return map(self.distinct.__getitem__, self.index.tolist())

    def after(self, rows: int) -> "Distinct":
        """The column without its first rows."""
        return Distinct(self.distinct, self.index[rows:])
