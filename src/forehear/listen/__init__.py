"""Listening before anything is built: sounds of candidates at seats, and honest comparisons of them."""
