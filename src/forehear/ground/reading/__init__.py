"""The border: quantities with units, documents whose every value has a place, and measured curves."""
