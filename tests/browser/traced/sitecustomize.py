"""Loaded by Python itself before anything else: notes every connection, listener, look-up and written file."""

import os
import sys

NOTED = ("socket.connect", "socket.bind", "socket.getaddrinfo", "socket.sendto", "subprocess.Popen", "os.rename")
WRITING = os.O_WRONLY | os.O_RDWR
OUT = open(os.environ["TISSUE_TRACE"], "a", buffering=1, encoding="utf-8")


def note(event, arguments):
    """One line an event: its name and what it was about."""
    if event == "open":
        path, mode, flags = arguments
        if isinstance(path, int) or not (flags & WRITING or set(mode or "") & set("wax+")):
            return
        OUT.write(f"write\t{path}\n")
    elif event in NOTED:
        OUT.write(f"{event}\t{arguments[1:] if event.startswith('socket.') else arguments}\n")


sys.addaudithook(note)
