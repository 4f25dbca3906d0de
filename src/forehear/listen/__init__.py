"""Listening beforehand."""
