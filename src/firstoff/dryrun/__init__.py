"""Walks a route and runs every check over it; sums chances; finds what to do instead."""
