"""A request to end that comes while processes are being started: it is obeyed in one word, and none is half born."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from signals import heard

STARTING = """
import os, signal, sys, time
from multiprocessing import current_process, util
from threading import Thread
from tissue.series.stopping import stop_once
from tissue.series.working import results_in_order

start, started = util.spawnv_passfds, []

def asked_to_end(*what):  # after the process is begun, before it is told what to do
    started.append(start(*what))
    if len(started) == int(sys.argv[2]):
        send = os.kill if sys.argv[1] == "SIGTERM" else os.killpg  # a terminal tells all its processes
        send(os.getpid(), getattr(signal, sys.argv[1]))
        time.sleep(0.05)
    return started[-1]

util.spawnv_passfds = asked_to_end
current_process()._config["semprefix"] = f"/stopped-{os.getpid()}"  # names of what the workers share
signal.signal(signal.SIGINT, signal.default_int_handler)  # a job in the background is begun without it
stop_once()
Thread(target=time.sleep, args=(20,), daemon=True).start()  # as a library for arithmetic keeps: it takes signals too
try:
    list(results_in_order(divmod, [(7, 2)] * 4, workers=2))
except KeyboardInterrupt:
    left = signal.pthread_sigmask(signal.SIG_BLOCK, ())
    sys.exit(f"stopped, {len(started)} started, {len(left)} blocked")
"""


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
def test_a_request_to_end_waits_until_a_process_that_is_being_started_can_read_what_it_is_to_do():
    """Before: the traceback of a worker that found the end of its input, after the word of the command.

    What the workers share are semaphores, which Linux keeps as files in /dev/shm. Before: one was left there,
    and the process that looks after them died of the end of the terminal, with a traceback of its own.
    """
    import signal

    cases = [("SIGINT", 1), ("SIGINT", 3), ("SIGTERM", 2), ("SIGHUP", 2)]  # 1 looks after what the workers share
    running = []
    for name, number in cases:
        line = [sys.executable, "-c", STARTING, name, str(number)]
        with heard(getattr(signal, name)):
            running.append(subprocess.Popen(line, stderr=subprocess.PIPE, text=True, start_new_session=True))
    said = [process.communicate(timeout=60)[1] for process in running]
    assert said == [f"stopped, {number} started, 0 blocked\n" for _, number in cases]
    left = [path for process in running for path in Path("/dev/shm").glob(f"sem.stopped-{process.pid}*")]
    assert not left, "what the workers shared stays in the memory of the machine"
