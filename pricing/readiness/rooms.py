"""The room that something is poured and dries in: noted, offered again, judged for resin."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from pricing.errors import PourRefused
from pricing.estimating.advice import Advice, resin_humidity, resin_temperature
from pricing.models import Pour, ResinKit, Topcoating
from pricing.models.fields import LEAST_ROOM_C, MOST_ROOM_C
from studio.models import Studio
from studio.units import degrees


@dataclass(frozen=True)
class Room:
    """Temperature, [C], and relative humidity, [%]; None where it was not noted."""

    room_c: Decimal | None = None
    humidity_percent: Decimal | None = None


def last_room(studio: Studio) -> Room:
    """Return the room that was noted last, at a pour or a topcoat; empty where none was."""
    noted = [
        (one.poured_at if isinstance(one, Pour) else one.coated_at, one)
        for model, moment in ((Pour, "poured_at"), (Topcoating, "coated_at"))
        if (one := _last(model, studio, moment)) is not None
    ]
    _, last = max(noted, key=lambda one: one[0], default=(None, None))
    return Room(last.room_c, last.humidity_percent) if last else Room()


def _last(
    model: type[Pour] | type[Topcoating], studio: Studio, moment: str
) -> Pour | Topcoating | None:
    rows = model.objects.filter(studio=studio).exclude(room_c=None, humidity_percent=None)
    return rows.order_by(f"-{moment}", "-pk").first()


def refuse_room(room_c: Decimal | None, humidity_percent: Decimal | None) -> None:
    """Refuse a room that cannot be."""
    if room_c is not None and not LEAST_ROOM_C <= room_c <= MOST_ROOM_C:
        raise PourRefused(
            f"A room has {degrees(LEAST_ROOM_C, MOST_ROOM_C)}, not {degrees(room_c)}. Leave it "
            "empty where you do not know."
        )
    if humidity_percent is not None and not 0 <= humidity_percent <= 100:
        raise PourRefused("Humidity is 0 to 100 %. Leave it empty where you do not know.")


def judge_room(room: Room, kit: ResinKit | None = None) -> Iterator[Advice]:
    """Yield the advice on resin in a room, by what a kit's maker asks for; none of what is not
    known.
    """
    if room.room_c is not None:
        if kit is None:
            yield resin_temperature(room.room_c)
        else:
            ends = ("room_from_c", "room_to_c")
            least, most = (kit.taken(name) for name in ends)
            stated = not kit.unchecked & {*ends}
            yield resin_temperature(room.room_c, least, most, stated=stated)
    if room.humidity_percent is not None:
        yield resin_humidity(room.humidity_percent)
