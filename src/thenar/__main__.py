"""Run the command line as `python -m thenar`."""

from thenar.cli import main

main()
