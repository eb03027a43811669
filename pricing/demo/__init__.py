"""A demo studio, invented from end to end and built through the services a person uses."""
