"""Amounts: how they are stored, and their sums, differences and products in SQL, all exact.

SQLite keeps a decimal as a binary fraction. One of at most fifteen digits comes back as it went in,
and two such may be compared as they are stored, whatever their places; but what the database works
out of several is off in the last digits. So amounts are counted here in whole steps of their last
place, which every database adds exactly, and come back as a `Decimal` with just that many places.

An amount has at most nine digits before the point (`WHOLE_DIGITS`). A sum has room for 64 bits of
steps, that is for 9.2e12 at six places; beyond that the database refuses it and rounds nothing.
"""

from collections.abc import Callable, Sequence
from decimal import ROUND_HALF_UP, Context, Decimal
from typing import TYPE_CHECKING, Any, Literal, Protocol, Self, TypedDict, Unpack, overload

from django.core.exceptions import FieldError
from django.core.validators import BaseValidator
from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Aggregate, Expression, Func
from django.db.models.expressions import Combinable
from django.db.models.functions import Cast
from django.db.models.sql.compiler import SQLCompiler

from studio.errors import StudioError

if TYPE_CHECKING:
    _Func = Func
else:
    _Func = object

WHOLE_DIGITS = 9
WIDE = Context(prec=60, rounding=ROUND_HALF_UP)


def as_float(name: str) -> Cast:
    """Return an amount as a float: for statistics of many rows, never to be added to money."""
    return Cast(name, models.FloatField())


class AmountTooLarge(StudioError):
    """An amount that is more than can be kept exactly."""

    code = "amount_too_large"


class AmountField(models.DecimalField):
    """An amount, stored with just its own places and no more than it has digits for.

    Left to themselves, one database rounds it, another refuses it, and a third keeps what it cannot
    give back.
    """

    def __init__(
        self,
        verbose_name: str | None = None,
        *,
        decimal_places: int,
        max_digits: int | None = None,
        null: bool = False,
        **options: Any,
    ) -> None:
        super().__init__(
            verbose_name,
            max_digits=max_digits or WHOLE_DIGITS + decimal_places,
            decimal_places=decimal_places,
            null=null,
            **options,
        )

    def get_db_prep_save(self, value: Any, connection: BaseDatabaseWrapper) -> Any:
        if value is not None and not hasattr(value, "as_sql"):
            value = self.stored(self.to_python(value))
        return super().get_db_prep_save(value, connection)

    def stored(self, amount: Decimal) -> Decimal:
        """Return an amount as it is stored, or refuse it in words."""
        amount = amount.quantize(Decimal(1).scaleb(-self.decimal_places), context=WIDE)
        limit = 10 ** (self.max_digits - self.decimal_places)
        if abs(amount) >= limit:
            raise AmountTooLarge(
                f"This would make {self.verbose_name} {amount:,.2f}, and only amounts below "
                f"{limit:,} can be kept. Give smaller ones."
            )
        return amount


# What a column of decimals takes.
Given = str | float | Decimal | Combinable


class Options(TypedDict, total=False):
    """What a model says of such a column besides its size."""

    blank: bool
    default: str | float | Decimal
    editable: bool
    help_text: str


class Nullable(Options, total=False):
    null: bool


class ColumnFactory(Protocol):
    """A function that makes columns of one size, which hold None only where they may be null."""

    @overload
    def __call__(
        self,
        verbose_name: str | None = None,
        *,
        validators: Sequence[BaseValidator] = (),
        **options: Unpack[Options],
    ) -> "models.DecimalField[Given, Decimal]": ...

    @overload
    def __call__(
        self,
        verbose_name: str | None = None,
        *,
        null: Literal[True],
        validators: Sequence[BaseValidator] = (),
        **options: Unpack[Options],
    ) -> "models.DecimalField[Given | None, Decimal | None]": ...


def column(make: Callable[..., models.DecimalField]) -> ColumnFactory:
    """Tell what a function's columns hold; the function stays as it is."""
    return make


class WholeStepsField(models.Field):
    """What is counted in whole steps: a whole number in SQL, a `Decimal` in Python.

    It is no `DecimalField`, so that Django refuses to mix the two in one expression.
    """

    def __init__(self, places: int) -> None:
        super().__init__()
        self.places = places

    def db_type(self, connection: BaseDatabaseWrapper) -> str:
        return "bigint"

    def from_db_value(
        self, value: Any, expression: Expression, connection: BaseDatabaseWrapper
    ) -> Decimal | None:
        return None if value is None else Decimal(int(value)).scaleb(-self.places)

    def get_prep_value(self, value: Any) -> int | None:
        return None if value is None else to_steps(value, self.places)


def to_steps(amount: Decimal | int | str, places: int) -> int:
    """Return an amount as a whole number of steps; `ValueError` where it has more places."""
    steps = Decimal(amount).scaleb(places)
    if steps != steps.to_integral_value():
        raise ValueError(f"{amount} has more than {places} places.")
    return int(steps)


def steps_sql(column: str, places: int) -> str:
    """Return the SQL of a stored amount in whole steps."""
    return f"CAST(ROUND({column} * {10**places}) AS BIGINT)"


def stored_sql(steps: str, places: int) -> str:
    """Return the SQL of so many whole steps as an amount to store."""
    return f"({steps}) / {10**places}.0"


class Stored(Func):
    """A stored amount, counted in steps: a column, or the one amount that a subquery finds."""

    arity = 1

    def __init__(self, amount: Combinable | str, places: int) -> None:
        super().__init__(amount, output_field=WholeStepsField(places))
        self.extra["template"] = steps_sql("%(expressions)s", places)


class Finer(Func):
    """An amount in steps, turned into smaller steps, so that it can be added to finer amounts."""

    template = "(%(expressions)s * %(factor)s)"


class InSteps(_Func):
    """An expression over amounts, all turned into the smallest steps among them.

    An amount is the name of a field, an expression of this module, or a subquery of either.
    """

    def resolve_expression(self, *args: Any, **kwargs: Any) -> Self:
        resolved = super().resolve_expression(*args, **kwargs)
        resolved.count_steps()
        return resolved

    def count_steps(self, first: int = 0) -> None:
        """Turn the arguments from the ``first`` on into steps; the result has as many places."""
        amounts = self.source_expressions[first:]
        places = max(_places(amount) for amount in amounts)
        self.source_expressions[first:] = [_in_steps(amount, places) for amount in amounts]
        self.output_field = WholeStepsField(places)


class Plus(InSteps, Func):
    """The sum of some amounts of one row; NULL where one of them is NULL."""

    template = "(%(expressions)s)"
    arg_joiner = " + "


class Minus(InSteps, Func):
    """The first amount less the others; NULL where one of them is NULL."""

    template = "(%(expressions)s)"
    arg_joiner = " - "


class Times(InSteps, Func):
    """A whole number times an amount."""

    template = "(%(expressions)s)"
    arg_joiner = " * "
    arity = 2

    def count_steps(self, first: int = 1) -> None:
        if not isinstance(self.source_expressions[0].output_field, models.IntegerField):
            raise FieldError("An amount is taken a whole number of times.")
        super().count_steps(first)


class OrZero(InSteps, Func):
    """An amount, or 0 where it is NULL."""

    template = "COALESCE(%(expressions)s, 0)"
    arity = 1


class Total(InSteps, Aggregate):
    """The sum of an amount over rows; 0 where there are none."""

    function = "SUM"
    name = "Total"
    arity = 1

    @property
    def empty_result_set_value(self) -> Decimal:  # type: ignore[override]  # only ever read
        return Decimal(0).scaleb(-_places(self))

    def as_sql(  # type: ignore[override]  # takes as much as Django's own aggregates
        self, compiler: SQLCompiler, connection: BaseDatabaseWrapper, **extra_context: Any
    ) -> tuple[str, Any]:
        sql, params = super().as_sql(compiler, connection, **extra_context)
        return f"COALESCE({sql}, 0)", params


def _places(amount: Expression) -> int:
    field = amount.output_field
    if isinstance(field, WholeStepsField):
        return field.places
    if isinstance(field, models.DecimalField):
        return field.decimal_places
    raise FieldError(f"{amount} is no amount.")


def _in_steps(amount: Expression, places: int) -> Expression:
    if not isinstance(amount.output_field, WholeStepsField):
        return Stored(amount, places)
    factor = 10 ** (places - amount.output_field.places)
    return (
        amount
        if factor == 1
        else Finer(amount, factor=factor, output_field=WholeStepsField(places))
    )
