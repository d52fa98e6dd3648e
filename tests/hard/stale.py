"""Every input changed by itself on every screen, against a new session of the same texts: no figure is left over.

Run with `python tests/hard/stale.py [screen …]`. The suite tries every field on one screen; this tries all pairs, or
those of the screens that are named.
"""

import logging
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from stale_cases import CHANGES, SCREENS, faults


def main():
    """Try all pairs; returns 1 where something was left over."""
    logging.disable(logging.WARNING)
    found, tried = [], 0
    for screen in sys.argv[1:] or SCREENS:
        for field in CHANGES:
            found += faults(screen, field)
            tried += 1
        print(f"{screen}: {len(CHANGES)} fields, {len(found)} differences so far", flush=True)
    print("\n".join(found))
    print(f"{tried} pairs, {len(found)} differences")
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main())
