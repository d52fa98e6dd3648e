"""Loaded by Python itself before anything else: a server that forgets a page two seconds after its line was lost.

Streamlit waits two minutes; what comes after is the same.
"""

import sys

if "streamlit" in sys.orig_argv:
    from streamlit.runtime.memory_session_storage import MemorySessionStorage

    MemorySessionStorage.__init__.__defaults__ = (128, 2)
