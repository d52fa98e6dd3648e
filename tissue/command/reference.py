"""The reference, made from the docstrings: `python -m tissue.command.reference OUT_DIR` writes static pages of HTML."""

import importlib
import inspect
import pkgutil
import sys
from html import escape
from pathlib import Path
from types import ModuleType

from tissue.ground.vocabulary import VERSION

DOOR = importlib.import_module("tissue")  # the front door, which is not a room
SHUT = ("app", "screens", "__main__")  # rooms that show something and are not called
STYLE = """
body { font: 16px/1.5 sans-serif; max-width: 52rem; margin: 2rem auto; padding: 0 1rem; color: #1c2126; }
@media (prefers-color-scheme: dark) { body { color: #e4e2dc; background: #16191c; } a { color: #8ab4d8; } }
h2 { border-top: 1px solid #8886; padding-top: .6rem; }
h3 { margin-bottom: .2rem; font: 600 1rem monospace; }
pre { white-space: pre-wrap; font: 13px/1.45 monospace; margin: .3rem 0 1rem; }
"""


def write_reference(arguments: list[str] | None = None) -> int:
    """Write the pages; exit code 0 done, 2 without a folder to write to."""
    arguments = sys.argv[1:] if arguments is None else arguments
    if len(arguments) != 1:
        sys.stderr.write("usage: python -m tissue.command.reference OUT_DIR\n")
        return 2
    folder = Path(arguments[0])
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, page in reference_pages().items():
            (folder / name).write_text(page, encoding="utf-8")
    except OSError as error:
        sys.stderr.write(f"{arguments[0]}: read {error.strerror or error}, accepted a folder to write to\n")
        return 2
    return 0


def reference_pages() -> dict[str, str]:
    """Every page by its file name: the index and one for each room."""
    rooms = {room: _modules(room) for room in _rooms()}
    found = {f"{room}.html": _room_page(room, modules) for room, modules in rooms.items()}
    lines = [f'<li><a href="{room}.html">{room}</a> {_first(_module(room))}</li>' for room in rooms]
    front = "".join(_entry(name, getattr(DOOR, name)) for name in DOOR.__all__ if callable(getattr(DOOR, name)))
    body = f"<p>{escape(_first(DOOR))}</p><h2>Rooms</h2><ul>{''.join(lines)}</ul><h2>The front door</h2>{front}"
    return {"index.html": _page(f"tissue {VERSION}", body)} | found


def _rooms() -> list[str]:
    """Names of the rooms whose functions are called."""
    return [one.name for one in pkgutil.iter_modules(DOOR.__path__) if one.name not in SHUT]


def _module(name: str) -> ModuleType:
    return importlib.import_module(f"tissue.{name}")


def _modules(room: str) -> list[ModuleType]:
    """A room and all modules within it."""
    first = _module(room)
    inner = pkgutil.walk_packages(getattr(first, "__path__", []), f"{first.__name__}.")
    return [first, *(importlib.import_module(one.name) for one in inner)]


def _room_page(room: str, modules: list[ModuleType]) -> str:
    """The page of a room."""
    parts = []
    for module in modules:
        mine = [
            (name, one)
            for name, one in vars(module).items()
            if not name.startswith("_") and getattr(one, "__module__", "") == module.__name__ and callable(one)
        ]
        if mine:
            entries = "".join(_entry(name, one) for name, one in mine)
            parts.append(f"<h2>{module.__name__}</h2><p>{escape(_first(module))}</p>{entries}")
    return _page(f"tissue.{room}", f'<p><a href="index.html">all rooms</a></p>{"".join(parts)}')


def _entry(name: str, one: object) -> str:
    """A function or a class, with its public methods."""
    parts = [_said(name, one, f' id="{name}"')]
    if inspect.isclass(one):
        methods = [(inner, method) for inner, method in vars(one).items() if inspect.isfunction(method)]
        parts += [_said(f"{name}.{inner}", method) for inner, method in methods if not inner.startswith("_")]
    return "".join(parts)


def _said(name: str, one: object, more: str = "") -> str:
    """Name, arguments and docstring."""
    return f"<h3{more}>{escape(name + _signature(one))}</h3><pre>{escape(inspect.getdoc(one) or '')}</pre>"


def _signature(one: object) -> str:
    """Arguments and their types; empty where they cannot be found out."""
    try:
        return str(inspect.signature(one))  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return ""


def _first(one: object) -> str:
    """The first line of a docstring."""
    return (inspect.getdoc(one) or "").partition("\n")[0]


def _page(title: str, body: str) -> str:
    """A whole page; nothing in it is fetched from elsewhere."""
    head = f'<meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>{escape(title)}</title>'
    whole = f"<head>{head}<style>{STYLE}</style></head><body><h1>{escape(title)}</h1>{body}</body>"
    return f'<!doctype html><html lang="en">{whole}</html>\n'


if __name__ == "__main__":
    raise SystemExit(write_reference())
