"""What is kept of a picture: its pixels, upright and in sRGB, and nothing else of the file.

Files are made and read back by Pillow, a general-purpose library. EXIF tags: CIPA DC-008
(Exif 2.32), 274 Orientation and 0x8825 GPS; orientation 6 means that the first row of what is
stored is the right-hand side of what is seen. Numbers of tags and orientations from memory.
"""

import io
import zipfile
import zlib

import pytest
from PIL import Image, ImageCms, ImageFile
from PIL.PngImagePlugin import PngInfo

from studio.pictures import LONG_SIDE, PictureError, prepare, prepared_from_full

RED, BLUE, GREEN = (200, 30, 30), (30, 30, 200), (30, 200, 30)
ORIENTATION, GPS, MAKER = 274, 0x8825, 271


def halves(size=(400, 200), left=RED, right=BLUE, mode="RGB"):
    """Return a picture of two colours side by side."""
    image = Image.new(mode, size, left)
    image.paste(right, (size[0] // 2, 0, *size))
    return image


def file(image, kind="JPEG", **options):
    stream = io.BytesIO()
    image.save(stream, kind, **options)
    return stream.getvalue()


def located(orientation=6):
    """Return EXIF data as a phone writes it: who made it, how it was held, where it was."""
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKER] = orientation, "Invented phone"
    exif.get_ifd(GPS).update({1: "N", 2: (48.0, 51.0, 29.0), 3: "E", 4: (2.0, 17.0, 40.0)})
    return exif


def read(body):
    image = Image.open(io.BytesIO(body))
    image.load()
    return image


def near(pixel, colour):
    return all(abs(one - other) < 16 for one, other in zip(pixel, colour, strict=True))


def test_location_and_all_else_that_was_written_along_is_gone():
    xmp = b"<x:xmpmeta>secret place</x:xmpmeta>"
    body = file(
        halves(),
        exif=located(),
        xmp=xmp,
        comment=b"secret place",
        icc_profile=ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes(),
    )
    before = read(body)
    assert before.getexif().get_ifd(GPS) and before.info["comment"] and xmp in body

    made = prepare(body)

    for kept_body in (made.full, made.small):
        image = read(kept_body)
        assert (image.format, image.mode) == ("JPEG", "RGB")
        assert not image.getexif() and not image.getexif().get_ifd(GPS)
        assert not {"exif", "icc_profile", "xmp", "comment", "photoshop"} & set(image.info)
        assert b"secret" not in kept_body and b"Exif" not in kept_body


@pytest.mark.parametrize(
    ("orientation", "size", "first", "last"),
    [(1, (400, 200), RED, BLUE), (3, (400, 200), BLUE, RED), (6, (200, 400), RED, BLUE)],
)
def test_it_is_turned_the_way_it_was_held(orientation, size, first, last):
    made = prepare(file(halves(), exif=located(orientation), quality=95))

    image = read(made.full)
    assert image.size == (made.width, made.height) == size
    assert near(image.getpixel((20, 20)), first)
    assert near(image.getpixel((size[0] - 20, size[1] - 20)), last)


@pytest.mark.parametrize(
    ("size", "full", "small"),
    [
        ((4000, 3000), (1600, 1200), (320, 240)),
        ((300, 100), (300, 100), (300, 100)),
        ((5000, 2), (1600, 1), (320, 1)),
    ],
)
def test_it_is_made_smaller_and_never_larger(size, full, small):
    made = prepare(file(halves(size)))

    assert (read(made.full).size, read(made.small).size) == (full, small)
    assert (made.width, made.height) == full


def swapped_profile():
    """Return sRGB's profile with the tags of its red and green primaries exchanged.

    ICC.1:2022, 7.3: the tag table names each tag by four letters.
    """
    body = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return body.replace(b"rXYZ", b"xxxx").replace(b"gXYZ", b"rXYZ").replace(b"xxxx", b"gXYZ")


def test_colours_are_brought_to_srgb_by_the_pictures_own_profile():
    body = file(halves((40, 40), RED, BLUE), "PNG", icc_profile=swapped_profile())

    image = read(prepare(body).full)

    assert near(image.getpixel((5, 20)), GREEN)
    assert near(image.getpixel((35, 20)), BLUE)


def test_a_profile_that_makes_no_sense_is_passed_over():
    image = read(prepare(file(halves(), icc_profile=b"no profile at all")).full)

    assert near(image.getpixel((20, 20)), RED)


@pytest.mark.parametrize(
    ("kind", "mode", "left", "right"),
    [
        ("PNG", "RGBA", (*RED, 255), (0, 0, 0, 0)),
        ("PNG", "L", 90, 200),
        ("PNG", "1", 0, 1),
        ("PNG", "I;16", 256 * 90, 256 * 200),
        ("WEBP", "RGBA", (*RED, 255), (0, 0, 0, 0)),
        ("JPEG", "CMYK", (0, 255, 255, 60), (255, 255, 0, 60)),
    ],
)
def test_every_kind_of_pixel_comes_out_as_it_looks(kind, mode, left, right):
    looks = {
        "RGBA": (RED, (255, 255, 255)),
        "L": ((90,) * 3, (200,) * 3),
        "1": ((0,) * 3, (255,) * 3),
        "I;16": ((90,) * 3, (200,) * 3),
        "CMYK": ((195, 0, 0), (0, 0, 195)),
    }[mode]
    image = Image.new(mode, (80, 40), left)
    image.paste(Image.new(mode, (40, 40), right), (40, 0))
    options = {"JPEG": {"quality": 95}, "WEBP": {"lossless": True}}.get(kind, {})

    made = read(prepare(file(image, kind, **options)).full)

    assert near(made.getpixel((10, 20)), looks[0])
    assert near(made.getpixel((70, 20)), looks[1])


def test_a_palette_with_a_clear_colour_is_laid_on_white():
    image = halves().convert("P", palette=Image.Palette.ADAPTIVE, colors=2)
    clear = image.getpixel((390, 100))

    made = read(prepare(file(image, "PNG", transparency=clear)).full)

    assert near(made.getpixel((20, 20)), RED)
    assert near(made.getpixel((390, 100)), (255, 255, 255))


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_of_an_animation_the_first_frame_is_kept(kind):
    frames = [Image.new("RGB", (60, 60), colour) for colour in (RED, BLUE)]
    body = file(frames[0], kind, save_all=True, append_images=frames[1:], duration=100)
    assert read(body).n_frames == 2

    image = read(prepare(body).full)

    assert getattr(image, "n_frames", 1) == 1
    assert near(image.getpixel((30, 30)), RED)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("share", [0.02, 0.5, 0.97])
def test_a_file_cut_short_is_refused_whatever_others_told_the_library(kind, share, monkeypatch):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    noise = Image.effect_noise((300, 200), 80).convert("RGB")
    body = file(noise, kind)

    with pytest.raises(PictureError, match=r"damaged|not a picture"):
        prepare(body[: int(len(body) * share)])


def bomb(side):
    """Return a small PNG that says it is ``side`` pixels each way."""
    body = bytearray(file(Image.new("1", (8, 8)), "PNG"))
    body[16:24] = side.to_bytes(4) * 2
    crc = zlib.crc32(bytes(body[12:29]))
    body[29:33] = crc.to_bytes(4)
    return bytes(body)


@pytest.mark.parametrize("side", [6_400, 12_000, 60_000])
def test_a_picture_that_unpacks_to_too_much_is_refused_before_it_is_unpacked(side):
    body = bomb(side)
    assert len(body) < 200

    with pytest.raises(PictureError, match="more than 40 megapixels"):
        prepare(body)


def test_a_text_in_a_png_that_unpacks_to_too_much_is_refused():
    about = PngInfo()
    about.add_text("comment", "0" * 80_000_000, zip=True)
    body = file(halves(), "PNG", pnginfo=about)
    assert len(body) < 200_000

    with pytest.raises(PictureError, match="damaged"):
        prepare(body)


def test_a_file_of_too_many_bytes_is_refused():
    with pytest.raises(PictureError, match="larger than 15 MB"):
        prepare(file(halves()) + b"\0" * 15_000_000)


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        (b"", "not a picture"),
        (b"Two cups of titanium white", "not a picture"),
        (file(halves(), "GIF"), "not a picture"),
        (file(halves(), "TIFF"), "not a picture"),
        (b"GIF89a/*" + b" " * 40 + b"*/=1;alert(1)", "not a picture"),
        (b"%PDF-1.7\n", "not a picture"),
        (b"<?xml version='1.0'?><svg xmlns='http://www.w3.org/2000/svg'/>", "SVG drawing"),
        (b"<svg onload='alert(1)'>", "SVG drawing"),
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC.*as a JPEG"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic", "HEIC.*as a JPEG"),
    ],
)
def test_what_is_no_picture_is_refused_in_words(body, sentence):
    with pytest.raises(PictureError, match=sentence):
        prepare(body)


def test_what_else_a_file_is_does_not_come_along():
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("page.html", "<script>alert(1)</script>")
    page = b"<html><script>alert(1)</script></html>"
    body = file(halves(), comment=page) + page + stream.getvalue()
    assert zipfile.is_zipfile(io.BytesIO(body))

    made = prepare(body)

    for one in (made.full, made.small):
        assert one.startswith(b"\xff\xd8") and one.endswith(b"\xff\xd9")
        assert b"script" not in one
        assert not zipfile.is_zipfile(io.BytesIO(one))


def test_what_was_kept_is_left_alone_when_it_comes_back():
    made = prepare(file(halves((3000, 1000)), exif=located(1)))

    again = prepared_from_full(made.full)

    assert again == made.__class__(made.full, again.small, made.width, made.height)
    assert read(again.small).size == read(made.small).size


@pytest.mark.parametrize("body", [file(halves(), "PNG"), file(halves((LONG_SIDE + 1, 9)))])
def test_what_was_never_kept_does_not_come_back(body):
    with pytest.raises(PictureError, match="not a JPEG of at most 1600"):
        prepared_from_full(body)
