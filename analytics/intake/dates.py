"""The order of day, month and year of a date column, decided over the whole file."""

ISO_FORMATS = ("%Y-%m-%d %H:%M", "%Y-%m-%d", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%dT%H:%M")
"""What the contract asks for, and its common variants."""
