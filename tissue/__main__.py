"""`python -m tissue` is the command `tissue`."""

import sys

try:
    from tissue.command.command import main
except KeyboardInterrupt:  # Ctrl-C while the command is being loaded
    sys.exit("stopped")

if __name__ == "__main__":
    raise SystemExit(main())
