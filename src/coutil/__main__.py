"""`python -m coutil` is `coutil`, and the installed command begins here as well."""

import os
import sys


def main() -> None:
    """Runs one command, also where it is stopped from the keyboard while the program is still being read."""
    try:
        from coutil import cli
    except KeyboardInterrupt:
        sys.stderr.write("Stopped.\n")
        sys.exit(130)
    cli.main()


def _leave_out_this_folder() -> None:
    """`python -m` looks for libraries where the maker stands first: a json.py beside her patterns would be run."""
    here, own = os.getcwd(), os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
    if not sys.flags.safe_path and sys.path and sys.path[0] in ("", here) and here != own:
        del sys.path[0]


if __name__ == "__main__":
    _leave_out_this_folder()
    main()
