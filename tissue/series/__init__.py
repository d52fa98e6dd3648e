"""Many eyes at once: a table in, the same table with every figure out.

`tissue.series(table)` works out a pandas DataFrame or a pyarrow Table, see `tissue.series.frames`; the modules `run`,
`report` and `statistics` are loaded when `tissue.series` is asked for one of them.
"""

import sys
from collections.abc import Mapping
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tissue.series import report, run, statistics

__all__ = ["report", "run", "statistics"]


class _Door(ModuleType):
    """This module, which can also be called: a notebook calls it, the commands use its contents."""

    def __call__(self, data: Any, mapping: Mapping[str, str | tuple] | None = None, optics: bool = False) -> Any:
        """A table of eyes with every figure, see `tissue.series.frames.with_figures`."""
        from tissue.series.frames import with_figures

        return with_figures(data, mapping, optics)


def __getattr__(name: str) -> ModuleType:
    """A module of this room, loaded when it is first asked for, so that the commands do not wait for it."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return import_module(f"{__name__}.{name}")


sys.modules[__name__].__class__ = _Door
