"""What every room stands on: air, axes, the types that flow, errors, findings, reading and files."""
