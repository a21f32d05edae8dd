"""The same removal by other means, for the benchmarks alone."""
