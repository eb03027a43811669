"""Pictures as they come from a phone, made safe to keep and to show: bytes in, bytes out.

Nothing of the file that came is kept but its pixels: turned upright, in sRGB, made smaller, and
written anew. So neither the place where it was taken nor anything hidden in the file goes on.
"""

import re
from contextlib import suppress
from dataclasses import dataclass
from io import BytesIO

from PIL import Image, ImageCms, ImageFile, ImageOps, UnidentifiedImageError

MOST_BYTES = 15_000_000
MOST_PIXELS = 40_000_000
LONG_SIDE = 1600  # [px]
SMALL_SIDE = 320  # [px]
QUALITY = 85
FORMATS = ("JPEG", "PNG", "WEBP")
ALPHA = {"RGBA", "RGBa", "LA", "La", "PA"}
# Of ISO/IEC 23008-12: the brands of the pictures that some phones take by default.
HEIF = re.compile(rb"^.{4}ftyp(heic|heix|hevc|hevx|heim|heis|mif1|msf1)", re.DOTALL)
SVG = re.compile(rb"<svg[\s>]", re.IGNORECASE)


class PictureError(ValueError):
    """A file that cannot be taken as a picture; its text is the sentence that says why."""


@dataclass(frozen=True)
class Prepared:
    """A picture ready to keep: two JPEGs without metadata, and the size of the larger, [px]."""

    full: bytes
    small: bytes
    width: int
    height: int


def prepare(body: bytes) -> Prepared:
    """Return what is kept of a picture.

    Parameters
    ----------
    body : bytes
        A JPEG, PNG or WebP file, of which the content counts and not its name; of an animation the
        first frame.

    Returns
    -------
    Prepared
        ``full`` has a long side of at most `LONG_SIDE`, ``small`` of at most `SMALL_SIDE`; smaller
        pictures are not enlarged. See-through parts are white.

    Raises
    ------
    PictureError
        If the file is not such a picture, is damaged or cut short, or is larger than `MOST_BYTES`
        or `MOST_PIXELS`; nothing is decoded before its size is known.
    """
    image = _scalable(_decoded(body))
    image.thumbnail((LONG_SIDE, LONG_SIDE), Image.Resampling.LANCZOS)
    image = _in_srgb(_on_white(image))
    return Prepared(_jpeg(image), _small(image), *image.size)


def prepared_from_full(body: bytes) -> Prepared:
    """Return `Prepared` for the bytes that `prepare` once gave as ``full``, leaving them alone.

    Raises
    ------
    PictureError
        If they are not a whole JPEG of at most `LONG_SIDE`.
    """
    image = _decoded(body)
    if not body.startswith(b"\xff\xd8") or max(image.size) > LONG_SIDE:
        raise PictureError(f"It is not a JPEG of at most {LONG_SIDE} pixels a side.")
    return Prepared(body, _small(_on_white(_scalable(image))), *image.size)


def _decoded(body: bytes) -> Image.Image:
    """Return the first frame, upright, decoded at about the size that is wanted."""
    _refuse_others(body)
    # A library for papers tells Pillow, for the whole process, to take files that were cut short.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        image = _opened(body)
        image.verify()
        image = _opened(body)
        image.draft(None, (LONG_SIDE, LONG_SIDE))
        image.load()
    except PictureError:
        raise
    except UnidentifiedImageError as error:
        raise PictureError("This is not a picture. Choose a JPEG, PNG or WebP file.") from error
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _too_large() from error
    except Exception as error:  # the decoders raise all kinds over bytes that make no sense
        raise PictureError(
            "This picture is damaged or did not come through whole. Send it again, or take another."
        ) from error
    return _upright(image)


def _opened(body: bytes) -> ImageFile.ImageFile:
    image = Image.open(BytesIO(body), formats=FORMATS)
    if image.width * image.height > MOST_PIXELS:
        raise _too_large()
    return image


def _too_large() -> PictureError:
    return PictureError(
        f"This picture has more than {MOST_PIXELS // 1_000_000} megapixels. Make it smaller and "
        "send it again."
    )


def _refuse_others(body: bytes) -> None:
    if len(body) > MOST_BYTES:
        raise PictureError(
            f"This file is larger than {MOST_BYTES // 1_000_000} MB. Make the picture smaller and "
            "send it again."
        )
    if HEIF.match(body):
        raise PictureError(
            "This is a HEIC picture, which cannot be read here. Send it as a JPEG: on the phone, "
            "set the camera to its most compatible format, or share a copy saved as JPEG."
        )
    if SVG.search(body[:1000]):
        raise PictureError(
            "This is an SVG drawing, which cannot be taken. Save it as a PNG or JPEG first."
        )


def _upright(image: Image.Image) -> Image.Image:
    try:
        return ImageOps.exif_transpose(image)
    except Exception:  # metadata that makes no sense is not worth losing the picture for
        return image


def _scalable(image: Image.Image) -> Image.Image:
    """Return the picture in a mode whose pixels can be averaged."""
    if image.mode.startswith("I"):  # 16 bits of grey, which convert() alone would clip
        return image.convert("I").point(lambda level: level / 256).convert("L")
    if image.mode in ALPHA or "transparency" in image.info:
        return image.convert("RGBA")
    return image if image.mode in ("RGB", "L", "CMYK") else image.convert("RGB")


def _on_white(image: Image.Image) -> Image.Image:
    if image.mode != "RGBA":
        return image
    white = Image.new("RGB", image.size, "white")
    white.paste(image, mask=image.getchannel("A"))
    white.info = image.info
    return white


def _in_srgb(image: Image.Image) -> Image.Image:
    """Return the picture's colours as sRGB, by its own profile if that can be read."""
    profile = image.info.get("icc_profile")
    if profile:
        # One of another kind of picture, or broken, is passed over: most pictures are in sRGB.
        with suppress(ImageCms.PyCMSError, OSError, ValueError):
            converted = ImageCms.profileToProfile(
                image,
                ImageCms.ImageCmsProfile(BytesIO(profile)),
                ImageCms.createProfile("sRGB"),
                outputMode="RGB",
            )
            image = converted or image
    return image.convert("RGB")


def _small(image: Image.Image) -> bytes:
    small = image.convert("RGB")
    small.thumbnail((SMALL_SIDE, SMALL_SIDE), Image.Resampling.LANCZOS)
    return _jpeg(small)


def _jpeg(image: Image.Image) -> bytes:
    bare = Image.new("RGB", image.size)  # an encoder writes some of what a picture carries along
    bare.paste(image)
    stream = BytesIO()
    bare.save(stream, "JPEG", quality=QUALITY, optimize=True, progressive=True)
    return stream.getvalue()
