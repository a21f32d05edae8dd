"""NC text to moves to time. Geometry; mm."""
