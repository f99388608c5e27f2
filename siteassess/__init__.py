"""siteassess: anchor sites for lines between park trees, recorded, judged and mapped."""

__version__ = "0.1.0"
