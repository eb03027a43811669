"""The least that is valid of each model: sequences for names, nothing hidden, all in one studio."""
