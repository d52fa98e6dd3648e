"""Starts the real server on a free loopback port, and a page in the system's Chromium."""

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM_ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # Who drives the browser asks for the place of every error: without this the chart library is read again for each.
    "--js-flags=--no-enable-lazy-source-positions",
]


def chromium():
    """Path of the system's Chromium, or None."""
    names = (os.environ.get("TISSUE_CHROMIUM", ""), "chromium", "chromium-browser", "google-chrome")
    return next((found for name in names if name and (found := shutil.which(name))), None)


def free_port():
    """A loopback port that nothing listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@contextmanager
def server(log=subprocess.DEVNULL, root=ROOT, **environment):
    """The address of a running server; it is stopped at the end.

    Args:
        log: where its output goes.
        root: the tree that is served.
        environment: what is set beside the environment of the tests.
    """
    port = free_port()
    command = [sys.executable, "-m", "streamlit", "run", "app.py", "--server.port", str(port)]
    command += ["--server.headless", "true"]
    process = subprocess.Popen(command, cwd=root, stdout=log, stderr=log, env=os.environ | environment)
    try:
        waited_for(f"http://127.0.0.1:{port}/_stcore/health", process)
        yield f"http://127.0.0.1:{port}"
    finally:
        process.terminate()
        process.wait(timeout=20)


def waited_for(address, process, seconds=60):
    """Wait until the server answers."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if process.poll() is not None:
            raise RuntimeError(f"the server ended with {process.returncode}")
        try:
            with urllib.request.urlopen(address, timeout=2):
                return
        except OSError:
            time.sleep(0.1)
    raise RuntimeError(f"no answer from {address}")


@contextmanager
def browser():
    """A headless Chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=chromium(), args=CHROMIUM_ARGS)
        try:
            yield started
        finally:
            started.close()
