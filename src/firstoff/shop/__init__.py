"""What stands in the shop: models and the starter library. Data only."""
