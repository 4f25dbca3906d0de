"""The whole way, from one design file to what every seat hears, why, and what would cure it."""
