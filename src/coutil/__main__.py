"""`python -m coutil` is `coutil`."""

import sys

try:
    from coutil.cli import main
except KeyboardInterrupt:
    # Stopped from the keyboard while the program was still being read.
    sys.stderr.write("Stopped.\n")
    sys.exit(130)

main()
