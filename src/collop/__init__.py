"""collop: the counter and bench tool of a whole-animal neighbourhood butcher."""

__version__ = "0.1.0"
