"""Small faults put into the arithmetic on purpose, to see whether a test notices."""
