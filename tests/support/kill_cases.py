"""Every command that writes, killed while it runs: at a moment of the clock, or at a step of the writing itself."""

import contextlib
import io
import os
import signal
import time
from multiprocessing import get_context

from helpers import plan_text

from tissue.command.command import main
from tissue.entry import whole_file
from tissue.series.demo import demo_rows

OLD = b"what stood here before\n"
STEPS = ("no byte written", "half written", "before its name", "after its name")
PRELOADED = ["kill_cases", "tissue.paper.record", "tissue.series.tables.parquet", "tissue.series.report"]
PRELOADED += ["pyarrow.parquet"]


def commands(folder, eyes=1500):
    """Commands by name: (arguments, files that they write); their inputs are put into the folder."""
    import pyarrow as pa
    import pyarrow.csv
    import pyarrow.parquet as pq

    (folder / "plan.toml").write_text(plan_text(OD={"sphere_D": -6.0, "central_thickness_um": 548.0}))
    (folder / "in.csv").write_text("\n".join(demo_rows(eyes, seed=2)) + "\n")
    texts = pa.csv.ConvertOptions(column_types={name: pa.string() for name in ("patient", "side", "surgeon")})
    pq.write_table(pa.csv.read_csv(folder / "in.csv", convert_options=texts), folder / "in.parquet")
    lines = {
        "plan": (["plan", "plan.toml", "--json"], []),
        "record": (["record", "plan.toml", "out.pdf"], ["out.pdf"]),
        "series, CSV": (["series", "in.csv", "out.csv"], ["out.csv"]),
        "series, Parquet": (["series", "in.parquet", "out.parquet"], ["out.parquet"]),
        "demo-series": (["demo-series", str(20 * eyes), "demo.csv"], ["demo.csv"]),
        "summary": (["series", "in.csv", "o.csv", "--summary", "s.csv", "--by", "surgeon"], ["o.csv", "s.csv"]),
    }
    return {
        name: ([str(folder / one) if "." in one else one for one in line], files)
        for name, (line, files) in lines.items()
    }


class Dying(io.FileIO):
    """A file at whose first or half written byte the process is killed."""

    share = 0.0

    def write(self, data):
        """Write a part of the data, then no more."""
        super().write(bytes(data)[: int(len(data) * self.share)])
        _die()


def _die():
    os.kill(os.getpid(), signal.SIGKILL)


def _run(line, step, started):
    """The command in this process, killed at a step where one is named."""
    replace = os.replace
    if step in STEPS[:2]:
        Dying.share = STEPS.index(step) / 2.0
        whole_file.open = lambda path, mode: Dying(path, mode.replace("b", ""))
    elif step is not None:

        def dies(*places):
            if step == STEPS[3]:
                replace(*places)
            _die()

        os.replace = dies
    started.send(True)
    with open(os.devnull, "w") as nowhere, contextlib.redirect_stdout(nowhere), contextlib.redirect_stderr(nowhere):
        code = main(line)
    started.send(code)


def context():
    """Processes that begin with everything imported, and without the threads of this one."""
    found = get_context("forkserver")
    found.set_forkserver_preload(PRELOADED)
    return found


def run(line, after_s=None, step=None):
    """Run a command and kill it so long after it began, or at a step; gives the seconds it ran."""
    here, there = context().Pipe()
    process = context().Process(target=_run, args=(line, step, there))
    process.start()
    there.close()  # a process that does not begin is an error here, and no wait without an end
    here.recv()
    begun = time.perf_counter()
    if after_s is not None:
        process.join(after_s)
        process.kill()
    process.join()
    return time.perf_counter() - begun


def left(folder, files, whole):
    """What a killed command left: by file `old`, `new`, or the words of what is wrong; and the files beside them."""
    found = {name: (folder / name).read_bytes() for name in files}
    said = {name: {OLD: "old", whole[name]: "new"}.get(data, f"{len(data)} bytes") for name, data in found.items()}
    inputs = {"plan.toml", "in.csv", "in.parquet", *files}
    return said, sorted(path.name for path in folder.iterdir() if path.name not in inputs)


def put_old(folder, files):
    """What stood there before."""
    for name in files:
        (folder / name).write_bytes(OLD)
