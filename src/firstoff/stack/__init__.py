"""Errors of settings -> dimensions, forwards and backwards; chances, fits, decisions on measured sizes."""
