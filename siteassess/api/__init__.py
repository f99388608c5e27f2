"""What Python is offered: parks read and changed, answers as objects and frames, drawings, and the quick sums.

`siteassess` itself hands these out by name, and loads a file only once one of its names is asked for.
"""
