"""Physics of holding and joining: friction, screws, wedges, vise, glue, bending. Pure functions; SI."""
