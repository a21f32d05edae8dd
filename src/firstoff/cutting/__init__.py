"""Physics of cutting: chip, force, push-off, chatter, finish, holes, threads. Pure functions; SI."""
