"""Which figures moved between two outputs of same_figures.py, by command and name, and by how much.

    python tests/hard/what_moved.py before.txt after.txt [--plain]

Names that only one of them has are listed apart. With --plain only eyes are counted that have no target, no thinnest
point of their own and no treatment off the vertex: neither the target nor the least bed touches them.
"""

import json
import sys
from collections import Counter, defaultdict


def blocks(path):
    """(command line, what it printed) of every command, in order."""
    with open(path, encoding="utf-8") as file:
        for part in file.read().split("\n$ "):
            head, _, said = part.removeprefix("$ ").partition("\n")
            yield head, said


def leaves(value, name=""):
    """(name, value) of every plain value in parsed JSON; routes and notices by their ids."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, f"{name}.{key}" if name else key)
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            mark = inner.get("id", i) if isinstance(inner, dict) else i
            if name.endswith("notices"):
                yield f"{name}.{inner['id']}.{inner['option']}", True
            else:
                yield from leaves(inner, f"{name}.{mark}")
    else:
        yield name, value


def parsed(said):
    """The JSON in what was printed, as one level; what was refused, as text."""
    try:
        return dict(leaves(json.loads(said[: said.rindex("exit ")])))
    except ValueError:
        return {"refused": said}


def plain(found):
    """Whether an eye has neither a target nor a map that differs from its centre."""
    values = {name.rsplit(".", 1)[1]: value for name, value in found.items() if ".input." in name}
    no_target = not values.get("target_D")
    centre = values.get("thinnest_um") == values.get("central_thickness_um")
    at_vertex = not any(values.get(name) for name in ("thinnest_x_mm", "thinnest_y_mm", "centre_x_mm", "centre_y_mm"))
    return no_target and centre and at_vertex


def moved(before, after, only_plain):
    """{(command, name): [differences]}, {(command, name): how often only one has it}, how many were compared."""
    far, alone, compared, keep = defaultdict(list), Counter(), Counter(), True
    for (head, old), (_, new) in zip(blocks(before), blocks(after), strict=True):
        command = head.split(" ")[0]
        if command not in ("plan", "rescue", "enhance", "mechanics") or "--json" not in head or "harbour" in head:
            continue
        was, now = parsed(old), parsed(new)
        if command == "plan":
            keep = not only_plain or plain(was)
        if not keep:
            continue
        compared[command] += 1
        for name in was.keys() | now.keys():
            short = name.replace("eyes.OD.", "")
            if name not in was or name not in now:
                alone[command, short, "new" if name in now else "gone"] += 1
            elif was[name] != now[name]:
                far[command, short].append(apart(was[name], now[name]))
    return far, alone, compared


def apart(was, now):
    """How far two values lie apart; infinite where one is none, NaN between words."""
    if isinstance(was, str) or isinstance(now, str):
        return float("nan")
    return float("inf") if was is None or now is None else abs(now - was)


if __name__ == "__main__":
    far, alone, compared = moved(sys.argv[1], sys.argv[2], "--plain" in sys.argv)
    print(dict(compared))
    for (command, name), values in sorted(far.items()):
        numbers = [value for value in values if value == value and value != float("inf")]
        most = f"{max(numbers):.3g}" if numbers else "words"
        none = values.count(float("inf"))
        print(f"{command:9} {name:60} {len(values):4} moved, at most {most}; {none} from or to none")
    for (command, name, what), count in sorted(alone.items()):
        print(f"{command:9} {name:60} {what} in {count}")
