"""Contacts, clamps, screws, wedges, glue; statics and bending of what holds and is held."""
