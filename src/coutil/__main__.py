"""`python -m coutil` is `coutil`."""

from coutil.cli import main

main()
