"""`python -m tissue` is the command `tissue`."""

from tissue.command.command import main

if __name__ == "__main__":
    raise SystemExit(main())
