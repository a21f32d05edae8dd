"""What a cut takes off: moves and windows. Geometry only; mm."""
