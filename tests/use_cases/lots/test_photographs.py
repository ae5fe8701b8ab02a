"""A photograph kept beside a lot: small, bare of where it was taken, all of it or nothing."""

import io
import struct
import tracemalloc
import zlib

import pytest
from PIL import Image

from seedbank.common.errors import NotThere, Refused, StaleVersion
from seedbank.interchange.folder.import_archive import import_archive
from seedbank.lots import photographs
from seedbank.lots.photograph_lots import find_photo, remove_photo, set_photo
from seedbank.lots.photographs import made_small
from seedbank.lots.take_in_lots import delete_lot
from tests.use_cases.conftest import Garden
from tests.use_cases.interchange.archives import archive_of, changed, contents, every_row
from tests.use_cases.interchange.test_export_archive import emptied
from tests.use_cases.lots.photographed import GPS, picture


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_a_picture_is_made_small_and_says_nothing_of_where_it_was_taken(form: str) -> None:
    sent = picture((2100, 1400), form)
    if form == "JPEG":
        assert Image.open(io.BytesIO(sent)).getexif().get_ifd(GPS)
    small = made_small(sent)
    assert len(small.jpeg) <= 200_000
    assert (small.width_px, small.height_px) <= (1600, 1600)
    assert small.width_px / small.height_px == pytest.approx(1.5, abs=0.01)
    with Image.open(io.BytesIO(small.jpeg)) as kept:
        assert (kept.format, kept.size) == ("JPEG", (small.width_px, small.height_px))
        assert not kept.getexif()
        assert set(kept.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert b"Exif" not in small.jpeg
    assert b"GPS" not in small.jpeg
    assert photographs.is_kept_so(small.jpeg) == (small.width_px, small.height_px)


def test_a_picture_taken_sideways_stands_upright() -> None:
    small = made_small(picture((1200, 800), orientation=6))  # to be turned a quarter to the right
    with Image.open(io.BytesIO(small.jpeg)) as kept:
        assert kept.size[0] < kept.size[1]
        grey = kept.convert("L")
        top = grey.crop((0, 0, grey.width, grey.height // 2)).resize((1, 1)).getpixel((0, 0))
        foot = grey.crop((0, grey.height // 2, *grey.size)).resize((1, 1)).getpixel((0, 0))
        assert top + 50 < foot  # what was on the left is at the top


def test_what_shines_through_is_on_white() -> None:
    out = io.BytesIO()
    Image.new("RGBA", (40, 40), (0, 0, 0, 0)).save(out, "PNG")
    with Image.open(io.BytesIO(made_small(out.getvalue()).jpeg)) as kept:
        assert kept.getpixel((20, 20)) == (255, 255, 255)


def bomb() -> bytes:
    """A PNG of 200 million pixels in a few bytes, by its heading."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        )

    heading = struct.pack(">IIBBBBB", 20_000, 10_000, 8, 0, 0, 0, 0)
    rows = zlib.compress(b"\0" * 1_000_000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", heading) + chunk(b"IDAT", rows)


def test_what_is_no_picture_or_unpacks_too_far_is_refused_in_little_memory() -> None:
    gif = io.BytesIO()
    Image.new("L", (5, 5)).save(gif, "GIF")
    large = io.BytesIO()
    Image.new("L", (9000, 6000)).save(large, "PNG")
    whole = picture()
    for sent, code in (
        (b"", "photo-misread"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "photo-misread"),
        (gif.getvalue(), "photo-misread"),
        (whole[: len(whole) // 2], "photo-misread"),
        (bomb(), "photo-misread"),
        (large.getvalue(), "photo-too-many-pixels"),
        (b"x" * (photographs.LARGEST_SENT + 1), "photo-too-large"),
    ):
        tracemalloc.start()
        with pytest.raises(Refused) as refused:
            made_small(sent)
        _, most = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        assert refused.value.code == code, sent[:20]
        assert most < 50_000_000


def test_a_photograph_is_kept_once_replaced_and_taken_away(garden: Garden) -> None:
    lot, version = garden.lot(), 0
    first, second = picture(), picture((600, 600))
    for sent in (first, first, second):
        kept, photo = set_photo(garden.session, lot.code, sent, now=garden.now)
        assert photo.jpeg == made_small(sent).jpeg
        version = kept.version
    assert version == lot.version + 2  # the same again changed nothing
    before = every_row(garden.session)
    with pytest.raises(Refused):
        set_photo(garden.session, lot.code, b"no picture", now=garden.now)
    with pytest.raises(StaleVersion):
        set_photo(garden.session, lot.code, first, expected={1}, now=garden.now)
    assert every_row(garden.session) == before
    remove_photo(garden.session, lot.code, expected={version})
    with pytest.raises(NotThere):
        find_photo(garden.session, lot.code)


def test_a_photograph_goes_with_its_lot(garden: Garden) -> None:
    lot = garden.lot(0)
    set_photo(garden.session, lot.code, picture(), now=garden.now)
    delete_lot(garden.session, lot.code, expected=None)
    assert every_row(garden.session)["lot_photo"] == []


def test_an_archive_carries_photographs_as_files_beside_the_tables(garden: Garden) -> None:
    for size in ((300, 200), (500, 700)):
        set_photo(garden.session, garden.lot().code, picture(size), now=garden.now)
    before, archive = every_row(garden.session), archive_of(garden.session)
    files = contents(archive)
    assert Image.open(io.BytesIO(files["lot_photo-1.jpg"])).size == (300, 200)
    assert b"lot_photo-2.jpg" in files["lot_photo.csv"]
    with emptied(garden.session) as again:
        import_archive(again, io.BytesIO(archive), name="photos.zip")
        assert every_row(again) == before
        assert archive_of(again) == archive


@pytest.mark.parametrize(
    ("name", "change", "said"),
    [
        ("lot_photo-1.jpg", lambda _: picture((300, 200)), "it is no photograph"),  # says where
        ("lot_photo-1.jpg", lambda _: picture((20, 20), "PNG"), "it is no photograph"),
        ("lot_photo.csv", lambda rows: rows.replace(b"-1.jpg", b"-9.jpg"), "isn't in the archive"),
        ("lot_photo.csv", lambda rows: rows.replace(b"lot_photo-1.jpg", b"../x"), "like lot_photo"),
        ("lot_photo.csv", lambda rows: rows.split(b"\r\n")[0] + b"\r\n", "no export has a file"),
    ],
)
def test_an_archives_photograph_is_looked_at_before_it_is_kept(
    garden: Garden, name: str, change: object, said: str
) -> None:
    set_photo(garden.session, garden.lot().code, picture((300, 200)), now=garden.now)
    archive = changed(archive_of(garden.session), name, change)  # type: ignore[arg-type]
    with emptied(garden.session) as again, pytest.raises(Exception, match=said):
        import_archive(again, io.BytesIO(archive), name="photos.zip")
