"""Setting Pourwright up on a machine and running it, with nothing but Python's own library."""

OLDEST = (3, 11)
