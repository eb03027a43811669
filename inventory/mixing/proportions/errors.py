"""Refusals of the mixing arithmetic."""


class MixingError(ValueError):
    """Raised when amounts cannot be mixed as asked; the text says what is accepted."""


class RecipeError(MixingError):
    """Raised when a recipe cannot be made as written; the text names what to change."""
