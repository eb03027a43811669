"""Pictures for the demo, drawn by its own dice: cells of paint as a bloom leaves them."""

from collections.abc import Sequence
from io import BytesIO

import numpy as np
from PIL import Image

from studio.pictures import Prepared, prepare

CELLS, WIDTH, HEIGHT = 70, 320, 240


def drawn_pour(seed: int, colours: Sequence[str]) -> Prepared:
    """Return a prepared picture of cells in colours such as ``#1f6f8b``, the first around them."""
    dice = np.random.default_rng(seed)
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH]
    places = dice.uniform((0, 0), (WIDTH, HEIGHT), (CELLS, 2))
    away = np.hypot(x[..., None] - places[:, 0], y[..., None] - places[:, 1])
    near, next_to_it = np.partition(away, 1, axis=-1)[..., :2].transpose(2, 0, 1)
    paints = np.array([list(bytes.fromhex(colour[1:])) for colour in colours], dtype=np.uint8)
    cell = paints[1 + away.argmin(axis=-1) % (len(paints) - 1)]
    lacing = (next_to_it - near < 5)[..., None]
    stream = BytesIO()
    image = Image.fromarray(np.where(lacing, paints[0], cell))
    image.resize((WIDTH * 4, HEIGHT * 4), Image.Resampling.BICUBIC).save(stream, "PNG")
    return prepare(stream.getvalue())
