"""Printed sheets: drawings and documents."""
