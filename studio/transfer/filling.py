"""An archive into an empty studio: all of it or nothing, while others go on working.

It is read twice. The first time every row is checked, and nothing is written. The second time rows
are written, some hundred in a transaction, into a studio that nobody belongs to; between two of
these others write. In a last transaction the rows are handed to the empty studio, one statement a
table. Until then nobody sees a row of it; whatever goes wrong, what was written is removed again.
If the process is killed, a `Restoring` without a sign of life is left, which `sweep` removes.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import timedelta
from itertools import count
from typing import IO, Any

from django.db import DatabaseError, IntegrityError, transaction
from django.db.models import Model, QuerySet
from django.utils import timezone

from studio import progress
from studio.access import members_of
from studio.models import Restoring, Studio, Tracked
from studio.transfer.files import Files
from studio.transfer.older import TODAY, Older
from studio.transfer.parts import ArchivePart, TransferRefused
from studio.transfer.reading import BATCH, Reading
from studio.transfer.writing import SETTINGS_FILE, settings_fields

SILENT = timedelta(minutes=30)  # then whoever wrote it is taken to be gone
NOT_EMPTY = (
    "A whole studio can only be brought into an empty one, and this one has {what}. Open a new "
    "studio and bring it in there."
)


@contextmanager
def restoring(
    studio: Studio,
    parts: Sequence[ArchivePart],
    stream: IO[bytes],
    *,
    proof: Callable[[Studio], Iterable[str]],
    older: Callable[[Files], Older] | None = None,
) -> Iterator["Filled"]:
    """Yield what an archive holds as a `Filled` studio; what was not handed over is removed again.

    Parameters
    ----------
    studio : Studio
        An empty one.
    parts : sequence of ArchivePart
        Each after those that its rows name.
    stream : binary file
        What `archive_studio` wrote.
    proof : callable
        Takes the studio once it is filled and returns sentences of what does not add up.
    older : callable, optional
        Takes the `Files` of the archive and returns what became of its tables as `Older`.

    Raises
    ------
    TransferRefused
        If the studio is not empty, the archive is not whole or too large, or its books do not add
        up. Rows are given new keys; what a row names must be in the archive too.
    """
    _refuse_unless_empty(studio, parts)
    sweep(parts)
    people = {
        member.user.email: member.user_id for member in members_of(studio) if member.user.email
    }
    files = Files(stream, SETTINGS_FILE)
    became = older(files) if older else TODAY
    row_count = _check(Reading(files, parts, people, became))
    filled = Filled(studio, parts)
    try:
        filled.fill(Reading(files, parts, people, became), of=row_count)
        for sentence in proof(filled.studio):
            raise TransferRefused(f"The archive's books do not add up. {sentence}")
        yield filled
    finally:
        filled.remove()


class Filled:
    """A studio that an archive is written into, and the empty one that it is for."""

    def __init__(self, empty: Studio, parts: Sequence[ArchivePart]) -> None:
        self.empty, self.parts, self.count = empty, parts, 0
        with transaction.atomic():
            self.studio = Studio.objects.get(pk=empty.pk)
            self.studio.pk, self.studio._state.adding = None, True
            self.studio.save()
            Restoring.objects.create(studio=self.studio)

    def fill(self, reading: Reading, of: int) -> None:
        """Write all rows of an archive that was checked, so many of them."""
        for name, value in reading.settings().items():
            setattr(self.studio, name, value)
        self.studio.save()
        for part, rows in reading.batches():
            progress.tell(reading.count, of)
            if part.owner == "studio":
                for row in rows:
                    row.studio = self.studio
            try:
                with transaction.atomic():
                    self._still_here()
                    part.model._base_manager.bulk_create(rows)
            except (DatabaseError, OverflowError, ValueError) as error:
                raise TransferRefused(
                    f"Rows of {part.file} break what must always hold: two alike, or amounts that "
                    "cannot be. Nothing was brought in."
                ) from error
        self.count = reading.count

    @transaction.atomic
    def hand_over(self) -> int:
        """Hand settings and rows to the empty studio; returns how many rows those are."""
        # Without its key, whoever is writing a row of the studio waits for nothing of this. What
        # the studio started with comes first: who numbers a row of it there is let finish, and then
        # it is not empty any more.
        studio = Studio.objects.select_for_update(no_key=True).get(pk=self.empty.pk)
        for part in reversed(self.parts):
            if part.is_given:
                part.rows(studio).delete()
        _refuse_unless_empty(studio, self.parts)
        self._still_here()
        now = timezone.now()  # until here nobody could see them
        for model, rows in _rows_of(self.studio):
            moment = {"changed_at": now} if issubclass(model, Tracked) else {}
            try:
                rows.update(studio=studio, **moment)
            except IntegrityError as error:
                plural = model._meta.verbose_name_plural
                raise TransferRefused(NOT_EMPTY.format(what=plural)) from error
        for field in settings_fields():
            setattr(studio, field.attname, getattr(self.studio, field.attname))
        studio.save()
        return self.count

    def remove(self) -> None:
        """Remove the studio itself, with all rows that were not handed over."""
        remove_studio(self.studio, self.parts)

    def _still_here(self) -> None:
        """Store that the work goes on now; refuse to go on where it was given up meanwhile."""
        mark = Restoring.objects.filter(studio=self.studio, is_given_up=False)
        if not mark.update(seen_at=timezone.now()):
            raise TransferRefused(
                "This took too long and was given up. Bring the archive in again."
            )


def sweep(parts: Sequence[ArchivePart]) -> int:
    """Remove what was left half-written by a process that was killed; returns how many studios."""
    silent = Restoring.objects.filter(seen_at__lt=timezone.now() - SILENT)
    studios = [one.studio for one in silent.select_related("studio")]
    for studio in studios:
        remove_studio(studio, parts)
    return len(studios)


def _check(reading: Reading) -> int:
    """Go through all of an archive, giving rows numbers in place of keys; return their count."""
    reading.settings()
    numbers = count(1)
    for _, rows in reading.batches():
        for row in rows:
            row.pk = next(numbers)
    return reading.count


def _refuse_unless_empty(studio: Studio, parts: Sequence[ArchivePart]) -> None:
    for part in parts:
        if not part.is_given and part.rows(studio).exists():
            plural = part.model._meta.verbose_name_plural
            raise TransferRefused(NOT_EMPTY.format(what=plural))


def _rows_of(studio: Studio) -> Iterator[tuple[type[Model], QuerySet[Any]]]:
    """Yield each model whose rows belong to a studio, and those rows."""
    for relation in Studio._meta.related_objects:
        if relation.related_model is not Restoring:
            yield relation.related_model, relation.related_model._base_manager.filter(studio=studio)


def remove_studio(studio: Studio, parts: Sequence[ArchivePart]) -> None:
    """Remove a studio with all its rows, some at a time, those that name others first.

    Whoever asks makes sure that nobody needs it: one that is half-written, or an example.
    """
    Restoring.objects.filter(studio=studio).update(is_given_up=True)
    written = [part.rows(studio) for part in reversed(parts)]
    ours = {part.model for part in parts}
    beside = [rows for model, rows in _rows_of(studio) if model not in ours]
    for rows in (*beside, *written):
        while keys := list(rows.order_by("-pk").values_list("pk", flat=True)[:BATCH]):
            rows.model._base_manager.filter(pk__in=keys).delete()
    studio.delete()
