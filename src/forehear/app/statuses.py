"""Exit statuses of every command."""

FINE, STOPS, UNUSABLE = 0, 1, 2
