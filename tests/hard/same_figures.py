"""Do two versions print the same? What the commands print of seeded eyes, in one file, byte for byte.

    python tests/hard/same_figures.py /tmp/before.txt --root OLD_CHECKOUT --eyes 500 --seed 15
    python tests/hard/same_figures.py /tmp/after.txt --eyes 500 --seed 15
    cmp /tmp/before.txt /tmp/after.txt

Written for each eye: `plan --json`, `rescue` at a moment of one stage, `enhance`, and for one eye in ten `mechanics`;
then `series` of all eyes as CSV, and the plan, both terminal tables and the record of every demo profile. A record is
written as the SHA-256 of its file, which holds the commit: two commits are compared on copies without their history
(`git archive`). The eyes are invented and come from the seed alone.
"""

import argparse
import contextlib
import hashlib
import io
import os
import random
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parents[2]
STAGES = ("lenticule", "lenticule-side", "cap", "incision")
MECHANICS_EVERY = 10


def invented(draw):
    """The plan-file values of one invented eye, as lines; most are myopic, some astigmatic, hyperopic or refused."""
    sphere = draw.choice([draw.uniform(-11, -0.5), draw.uniform(-8, -1), draw.uniform(0.25, 4.5)])
    values = {
        "sphere_D": f"{round(sphere * 4) / 4:+.2f}",
        "cylinder_D": f"{-round(draw.uniform(0, 4) * 4) / 4:+.2f}",
        "axis_deg": draw.randint(0, 180),
        "central_thickness_um": draw.randint(440, 640),
    }
    extras = {
        "zone_mm": lambda: round(draw.uniform(5.0, 7.5), 1),
        "target_D": lambda: draw.choice(['"-0.50"', '"-1.50"']),
        "vertex_mm": lambda: draw.choice([0, 12, 13.5]),
        "mean_K_D": lambda: round(draw.uniform(40, 47), 1),
        "asphericity": lambda: round(draw.uniform(-0.6, 0.2), 2),
        "profile": lambda: draw.choice(['"conic"', '"parabolic"']),
        "cap_um": lambda: draw.randint(100, 150),
        "flap_um": lambda: draw.randint(90, 140),
        "cap_measured_um": lambda: draw.randint(105, 140),
        "centre_x_mm": lambda: round(draw.uniform(-0.5, 0.5), 2),
        "centre_y_mm": lambda: round(draw.uniform(-0.5, 0.5), 2),
        "pupil_mm": lambda: round(draw.uniform(4, 8), 1),
        "base_um": lambda: draw.randint(0, 30),
        "relationship": lambda: draw.choice(['"uniform"', '"nambiar2023"']),
    }
    values |= {name: make() for name, make in extras.items() if draw.random() < 0.25}
    if draw.random() < 0.4:
        values["thinnest_um"] = values["central_thickness_um"] - draw.randint(0, 25)
        values["thinnest_x_mm"] = round(draw.uniform(-1, 1), 2)
        values["thinnest_y_mm"] = round(draw.uniform(-1, 1), 2)
    return values


def said(main, *arguments):
    """What a command prints and returns, as lines with its words before them."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True) for _ in range(2))
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            code = main(list(map(str, arguments)))
        except SystemExit as end:
            code = end.code
    return f"$ {' '.join(map(str, arguments))}\n{written(out)}{written(err)}exit {code}\n"


def written(stream):
    """All that was written to a stream."""
    return stream.buffer.getvalue().decode("utf-8")


def of_one_eye(main, number, draw, values):
    """What plan, rescue, enhance and, at times, mechanics say of one eye."""
    lines = [f"{name} = {value}" for name, value in values.items()]
    Path("eye.toml").write_text("\n".join(["schema = 1", "[OD]", *lines]) + "\n", encoding="utf-8")
    yield said(main, "plan", "eye.toml", "--json")
    done = round(draw.random(), 3)
    yield said(main, "rescue", "eye.toml", "--stage", draw.choice(STAGES), "--done", done, "--json")
    residual = draw.choice(["-0.75", "-0.75 -0.25 x 90", "+0.50"])
    yield said(main, "enhance", "eye.toml", "--residual", residual, "--json")
    if number % MECHANICS_EVERY == 0:
        yield said(main, "mechanics", "eye.toml", "--json")


def of_all(main, eyes):
    """What series says of all eyes as one table."""
    names = sorted({name for values in eyes for name in values})
    rows = [",".join(str(values.get(name, "")).strip('"') for name in names) for values in eyes]
    Path("eyes.csv").write_text("\n".join([",".join(names), *rows]) + "\n", encoding="utf-8")
    yield said(main, "series", "eyes.csv", "out.csv", "--optics")
    yield Path("out.csv").read_text(encoding="utf-8")


def of_demos(main, root):
    """The plan as a table and as JSON, and the record, of every demo profile."""
    for file in sorted((root / "demo_profiles").glob("harbour-0[1-8]*.toml")):
        Path(file.name).write_bytes(file.read_bytes())
        yield said(main, "plan", file.name)
        yield said(main, "plan", file.name, "--json")
        yield said(main, "record", file.name, "page.pdf", "--date", "2026-11-25")
        yield f"record {hashlib.sha256(Path('page.pdf').read_bytes()).hexdigest()}\n"


def run():
    """Write what this or another checkout prints."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("out", type=Path)
    asked.add_argument("--root", type=Path, default=HERE)
    asked.add_argument("--eyes", type=int, default=500)
    asked.add_argument("--seed", type=int, default=15)
    found = asked.parse_args()
    root, out = found.root.resolve(), found.out.resolve()
    sys.path.insert(0, str(root))
    from tissue.__main__ import main

    draw = random.Random(found.seed)
    eyes = [invented(draw) for _ in range(found.eyes)]
    with tempfile.TemporaryDirectory() as folder, out.open("w", encoding="utf-8") as file:
        os.chdir(folder)
        for number, values in enumerate(eyes):
            file.writelines(of_one_eye(main, number, draw, values))
        file.writelines(of_all(main, eyes))
        file.writelines(of_demos(main, root))
        os.chdir(root)


if __name__ == "__main__":
    run()
