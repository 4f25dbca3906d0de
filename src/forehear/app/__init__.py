"""Doors only: the command line, and later the desk."""
