"""The fields of the models that a person's words, days and counts reach.

Whatever writes a row (a form, the API, an import, an archive, a service, the admin), what is kept
passes here last: text is cleaned, and what the column cannot hold is refused in a sentence, on
every database alike. In migrations they stand as the fields of Django that they are, for the rule
is no part of the schema.
"""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, NoReturn

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.utils.functional import cached_property
from django.utils.text import capfirst

from studio.dates import SENTENCE, is_within, validate_day
from studio.errors import StudioError
from studio.text import clean_json, one_line, several_lines


class NotKept(StudioError):
    """What was given is more than the column holds."""

    code = "not_kept"


if TYPE_CHECKING:
    _Field = models.Field
else:
    _Field = object


class _Kept(_Field):
    """A field that looks once more at what is about to be written."""

    def deconstruct(self) -> tuple[str, str, Sequence[Any], dict[str, Any]]:
        name, _, args, kwargs = super().deconstruct()
        plain = next(one for one in type(self).__mro__ if one.__module__.startswith("django."))
        return name, f"django.db.models.{plain.__name__}", args, kwargs

    def get_db_prep_save(self, value: Any, connection: BaseDatabaseWrapper) -> Any:
        if value is not None and not hasattr(value, "as_sql"):
            self._refuse(value)
        return super().get_db_prep_save(value, connection)

    def _refuse(self, value: Any) -> None:
        raise NotImplementedError  # each kind has its own bounds, below

    def _no(self, sentence: str) -> NoReturn:
        raise NotKept(f"{capfirst(self.verbose_name)}: {sentence}")


class _Text(_Kept):
    """Text that is cleaned on its way in; :meth:`clean_text` says how."""

    clean_text = staticmethod(one_line)

    def to_python(self, value: Any) -> Any:
        value = super().to_python(value)
        return self.clean_text(value) if isinstance(value, str) else value

    def pre_save(self, row: models.Model, add: bool) -> Any:
        value = super().pre_save(row, add)
        if isinstance(value, str):
            value = self.clean_text(value)
            setattr(row, self.attname, value)
        return value

    def _refuse(self, value: Any) -> None:
        if self.max_length and len(self.to_python(value)) > self.max_length:
            self._no(f"That is too long; {self.max_length} characters are enough.")


class LineField(_Text, models.CharField):
    """One line of text."""


class LinesField(_Text, models.TextField):
    """Several lines of text."""

    clean_text = staticmethod(several_lines)


class EmailField(_Text, models.EmailField):
    """An e-mail address."""


class JSONField(_Kept, models.JSONField):
    """JSON whose texts are cleaned, the names in it too."""

    def pre_save(self, row: models.Model, add: bool) -> Any:
        value = super().pre_save(row, add)
        if not hasattr(value, "as_sql"):
            value = self.to_python(value)
            setattr(row, self.attname, value)
        return value

    def to_python(self, value: Any) -> Any:
        """Return the value as it is kept; raises `ValidationError` for what is no JSON."""
        try:
            return clean_json(value)
        except ValueError as error:
            raise ValidationError(str(error), code="invalid") from None

    def get_db_prep_save(self, value: Any, connection: BaseDatabaseWrapper) -> Any:
        if not hasattr(value, "as_sql"):
            try:
                value = clean_json(value)
            except ValueError as error:
                self._no(str(error))
        return models.JSONField.get_db_prep_save(self, value, connection)


class _Dated(_Kept):
    default_validators = [validate_day]

    def _refuse(self, value: Any) -> None:
        if not is_within(self.to_python(value)):
            self._no(SENTENCE)


class DayField(_Dated, models.DateField):
    """A date within the years that a studio's work can lie in."""


class MomentField(_Dated, models.DateTimeField):
    """A moment within those years."""


class _Whole(_Kept):
    """A whole number, not negative, of which no database holds more than ``most``."""

    most: int
    _validators: list[Callable[[Any], None]]  # as Django keeps those that were given

    @cached_property
    def validators(self) -> list[Callable[[Any], None]]:
        own = self._validators
        if not any(isinstance(one, MaxValueValidator) for one in own):
            own = [*own, MaxValueValidator(self.most)]
        if not any(isinstance(one, MinValueValidator) for one in own):
            own = [*own, MinValueValidator(0)]
        return own

    def _refuse(self, value: Any) -> None:
        if not 0 <= self.to_python(value) <= self.most:
            self._no(f"Give a number from 0 to {self.most:,}.")


class WholeField(_Whole, models.PositiveIntegerField):
    most = 2_147_483_647


class SmallWholeField(_Whole, models.PositiveSmallIntegerField):
    most = 32_767
