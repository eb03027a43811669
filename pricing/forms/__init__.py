"""Forms of the pricing pages, by what they are about."""
