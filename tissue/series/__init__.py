"""Many eyes at once: a table in, the same table with every figure out.

`tissue.series.run`, `report` and `statistics` are there once `tissue.series` is asked for one of them.
"""

from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tissue.series import report, run, statistics

__all__ = ["report", "run", "statistics"]


def __getattr__(name: str) -> ModuleType:
    """A module of this room that is loaded when it is first asked for: the commands do not wait for it."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return import_module(f"{__name__}.{name}")
