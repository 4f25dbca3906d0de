"""Finding the network: what listens to it, how it is searched, what it is built of, and how sure that is."""
