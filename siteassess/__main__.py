"""`python -m siteassess`."""

from siteassess.cli import main

main()
