"""Firstoff: the arithmetic of a one-off metal job, how sure it is, and what happened."""

__version__ = "0.1.0"
