"""What is wanted and what is planned: job and route. Data only."""
