"""The origin of a figure: version and commit of the tool, and how to cite it."""

import json
from functools import cache
from importlib import metadata
from pathlib import Path

from tissue.ground.vocabulary import VERSION

TITLE = "tissue: the tissue budget of an eye before corneal refractive surgery"


@cache
def commit() -> str | None:
    """Commit that the tool was installed from, 40 hexadecimal digits; None where that is not known."""
    folder = Path(__file__).resolve().parents[2]
    return _of_folder(folder / ".git") or _of_installation()


def _of_folder(git: Path) -> str | None:
    """Commit of a working copy, from its files."""
    try:
        if git.is_file():  # a second working copy says in a file where its repository is
            git = (git.parent / git.read_text().removeprefix("gitdir:").strip()).resolve()
        head = (git / "HEAD").read_text().strip()
        if not head.startswith("ref: "):
            return head
        shared = git / "commondir"
        homes = [git, (git / shared.read_text().strip()).resolve()] if shared.is_file() else [git]
        name = head.removeprefix("ref: ")
        loose = next((home / name for home in homes if (home / name).is_file()), None)
        return loose.read_text().strip() if loose else _packed(homes[-1], name)
    except (OSError, UnicodeDecodeError):
        return None


def _packed(git: Path, name: str) -> str | None:
    """Commit of a name among the packed ones."""
    lines = (git / "packed-refs").read_text().splitlines()
    return next((line.split()[0] for line in lines if line.endswith(f" {name}")), None)


def _of_installation() -> str | None:
    """Commit that an installer noted."""
    try:
        noted = metadata.distribution("tissue").read_text("direct_url.json")
    except metadata.PackageNotFoundError:
        return None
    return json.loads(noted).get("vcs_info", {}).get("commit_id") if noted else None


def version_words() -> str:
    """Version and commit in one line.

    >>> version_words().startswith(f"tissue {VERSION}")
    True
    """
    known = commit()
    return f"tissue {VERSION}" + (f", commit {known[:12]}" if known else "")


def bibtex() -> str:
    """The citation of the tool for BibTeX."""
    note = f"commit {commit()}" if commit() else "commit not known"
    return f"""@software{{tissue,
  title = {{{TITLE}}},
  version = {{{VERSION}}},
  note = {{{note}}}
}}"""


def cff() -> str:
    """The citation of the tool in the Citation File Format 1.2.0."""
    known = f'commit: "{commit()}"\n' if commit() else ""
    return f"""cff-version: 1.2.0
message: "Cite the tool by its version and commit, and the publication behind a figure by its own citation."
type: software
title: "{TITLE}"
authors:
  - name: "The authors of tissue"
version: "{VERSION}"
{known}""".rstrip("\n")
