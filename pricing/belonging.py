"""Rows of two studios never meet in one record."""

from studio.errors import StudioError


class NotYours(StudioError):
    """Something named in a request is not the studio's."""

    code = "not_in_this_studio"


def refuse_strangers(studio, *things):
    """Refuse anything that belongs to another studio; None is nobody's and passes."""
    for thing in things:
        if thing is not None and thing.studio_id != studio.pk:
            raise NotYours(f"There is no {thing._meta.verbose_name} like that in this studio.")
