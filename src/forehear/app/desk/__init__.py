"""The desk: a local server that holds one design folder open, and pictures of it for the browser."""
