"""Solid models: STEP to faces, edges, features, access, drawings. Geometry only; mm."""
