"""While tests run, no query works anything out of amounts but through `studio.amounts`.

The rules on the text of the code (tests/test_amounts_in_sql.py) see how a query is written; these
see what it comes to, whatever it was put together from.
"""

from contextlib import contextmanager
from unittest.mock import patch

from django.db.backends.sqlite3.base import DatabaseOperations
from django.db.models import DecimalField
from django.db.models.expressions import Col, CombinedExpression
from django.db.models.lookups import BuiltinLookup

from studio.amounts import WholeStepsField


class Inexact(AssertionError):
    """A query that SQLite answers with the last digits of a binary fraction."""


def is_a(expression, kind):
    return isinstance(getattr(expression, "_output_field_or_none", None), kind)


@contextmanager
def only_exact_queries():
    """Refuse to read, to compute or to compare what SQLite would make fractions of."""
    read, combine = DatabaseOperations.get_decimalfield_converter, CombinedExpression.as_sql
    compare = BuiltinLookup.process_rhs

    def reads(self, expression):
        if not isinstance(expression, Col):
            raise Inexact(f"{expression} is worked out by the database.")
        return read(self, expression)

    def combines(self, compiler, connection):
        if any(is_a(one, DecimalField) for one in (self.lhs, self.rhs)):
            raise Inexact(f"{self} is worked out by the database.")
        return combine(self, compiler, connection)

    def compares(self, compiler, connection):
        for one, other in ((self.lhs, self.rhs), (self.rhs, self.lhs)):
            if is_a(one, WholeStepsField) and is_a(other, DecimalField):
                raise Inexact(f"{one} is counted in steps and {other} is not.")
        return compare(self, compiler, connection)

    with (
        patch.object(DatabaseOperations, "get_decimalfield_converter", reads),
        patch.object(CombinedExpression, "as_sql", combines),
        patch.object(BuiltinLookup, "process_rhs", compares),
    ):
        yield
