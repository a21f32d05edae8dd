"""From errors of settings to sizes, forwards and backwards; fits; decisions. Pure functions; SI."""
