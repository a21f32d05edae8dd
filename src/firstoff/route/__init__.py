"""Features to settings to operations to order; first cuts."""
