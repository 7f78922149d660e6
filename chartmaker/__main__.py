"""`python -m chartmaker`."""

from chartmaker.cli import main

main()
