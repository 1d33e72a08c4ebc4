"""`python -m coutil` is `coutil`, and the installed command begins here as well."""

import sys


def main() -> None:
    """Runs one command, also where it is stopped from the keyboard while the program is still being read."""
    try:
        from coutil import cli
    except KeyboardInterrupt:
        sys.stderr.write("Stopped.\n")
        sys.exit(130)
    cli.main()


if __name__ == "__main__":
    main()
