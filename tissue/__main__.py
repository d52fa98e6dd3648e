"""`python -m tissue` is the command `tissue`."""

import gc
import sys

gc.set_threshold(100_000, 20, 100)  # a command is soon over: less often is all that was loaded looked through

try:
    from tissue.command.command import main
except KeyboardInterrupt:  # Ctrl-C while the command is being loaded
    sys.exit("stopped")

if __name__ == "__main__":
    raise SystemExit(main())
