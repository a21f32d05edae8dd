"""One file a way to go wrong. Here, and only here, shop and job meet physics."""
