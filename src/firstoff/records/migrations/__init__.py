"""Migrations of the database of records."""
