"""Photos and clips in the book, alike on every store: whole or not at all, once, in its backup and its export."""

from __future__ import annotations

import hashlib
import io
import shutil
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import create_engine

from beltwright.book import migrations, opening
from beltwright.book.enclosed import LARGEST_PHOTO, kind_of, name_of, size_of
from beltwright.book.opening import create_book, open_book
from beltwright.book.store import Store
from beltwright.book.transfer import export, take_in
from beltwright.errors import BookReadOnly, InputError, Unknown
from beltwright.plant.settings import Settings
from tests.book.invented import make_up

JPEG = b"\xff\xd8\xff\xe0" + bytes(range(256)) * 40
HEIC = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + b"\x00" * 100
M4A = b"\x00\x00\x00\x18ftypM4A \x00\x00\x00\x00" + b"\x00" * 100


def test_a_photo_handed_in_twice_is_one_and_comes_back_as_it_was(book: Store, where: str) -> None:
    name = name_of(JPEG)
    assert not book.has_file(name)
    assert book.keep_file(name, JPEG)
    assert not book.keep_file(name, JPEG)
    assert book.has_file(name)
    with open_book(where) as other:
        assert other.file(name) == JPEG
        with pytest.raises(BookReadOnly):
            other.keep_file(name_of(HEIC), HEIC)
    assert book.file_names() == [name]


def test_what_was_deleted_is_gone_and_nothing_else(book: Store) -> None:
    for data in (JPEG, M4A):
        book.keep_file(name_of(data), data)
    assert book.drop_file(name_of(JPEG))
    assert not book.drop_file(name_of(JPEG))
    assert not book.drop_file("../../etc/passwd")
    assert book.file_names() == [name_of(M4A)]


def test_what_is_not_what_its_name_says_is_not_kept(book: Store) -> None:
    other = hashlib.sha256(b"another").hexdigest()
    for name, data in ((name_of(JPEG), JPEG[:-1]), (f"{other}.jpg", JPEG), (name_of(JPEG).replace("jpg", "png"), JPEG),
                       ("../../etc/passwd", JPEG), (name_of(JPEG).upper(), JPEG), ("", JPEG),
                       (name_of(JPEG) + "\n", JPEG), (f"{hashlib.sha256(b'x').hexdigest()}.jpg", b"x")):
        with pytest.raises(InputError):
            book.keep_file(name, data)
    big = JPEG + bytes(LARGEST_PHOTO)
    with pytest.raises(InputError, match="12 MB is too large"):
        book.keep_file(name_of(big), big)
    assert book.file_names() == []


@pytest.mark.parametrize("name", ["../../etc/passwd", "x", "", "a" * 64 + ".jpg", "a" * 64 + ".exe", "\x00", "%"])
def test_a_name_that_is_none_finds_nothing(book: Store, name: str) -> None:
    assert not book.has_file(name)
    with pytest.raises(Unknown):
        book.file(name)


def test_a_step_that_fails_keeps_no_photo_of_it(book: Store) -> None:
    def step() -> None:
        with book.writing():
            book.keep_file(name_of(JPEG), JPEG)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        step()
    assert not book.has_file(name_of(JPEG))


def test_photos_go_with_an_export_to_any_store(book: Store, new_place: Callable[[], str], tmp_path: Path) -> None:
    book.add_make_up(make_up("FAN-12"))
    for data in (JPEG, HEIC, M4A):
        book.keep_file(name_of(data), data)
    out = io.StringIO()
    export(book, out)
    lines = out.getvalue().splitlines(keepends=True)
    with (create_book(tmp_path / "other.book", Settings("x"), by="Bo") as file,
          create_book(new_place(), Settings("y"), by="Bo") as same_kind):
        for other in (file, same_kind):
            assert take_in(other, lines)["photo or clip"] == 3
            assert take_in(other, lines)["photo or clip"] == 0
            assert [other.file(name_of(data)) for data in (JPEG, HEIC, M4A)] == [JPEG, HEIC, M4A]
    spoilt = [line.replace('base64":"/9j/', 'base64":"/9j?') for line in lines]
    with create_book(new_place(), Settings("z"), by="Bo") as third:
        with pytest.raises(InputError, match="changed on the way"):
            take_in(third, spoilt)
        assert third.file_names() == []
        assert third.drives() == []


def test_a_backup_has_the_photos(tmp_path: Path) -> None:
    with create_book(tmp_path / "plant.book", Settings("Mill"), by="Ann") as book:
        book.keep_file(name_of(JPEG), JPEG)
        opening.back_up(book, tmp_path / "copy.book")
    with open_book(tmp_path / "copy.book") as copy:
        assert copy.file(name_of(JPEG)) == JPEG


def test_photos_of_an_earlier_version_are_taken_into_the_book(tmp_path: Path,
                                                              monkeypatch: pytest.MonkeyPatch) -> None:
    path, versions = tmp_path / "plant.book", tmp_path / "versions"
    versions.mkdir()
    for name in ("v0001.py", "v0002.py"):
        shutil.copy(migrations.FOLDER / name, versions)
    with monkeypatch.context() as then:
        then.setattr(migrations, "FOLDER", versions)
        engine = create_engine(f"sqlite:///{path}")
        with engine.begin() as connection:
            migrations.run_missing(connection)
            connection.exec_driver_sql(f"PRAGMA application_id = {opening.APPLICATION_ID}")
            connection.exec_driver_sql("INSERT INTO settings (id, noted_at, noted_by, content) VALUES (?, ?, ?, ?)",
                                       (b"\x01" * 16, "2026-01-01 00:00:00.000000", "Ann", '{"plant":"Mill"}'))
        engine.dispose()
    folder = path.with_name("plant.book.files")
    for name, data in ((name_of(JPEG), JPEG), (name_of(HEIC), HEIC[:-1]), ("zz.txt", b"somebody's own")):
        file = folder / name[:2] / name
        file.parent.mkdir(parents=True)
        file.write_bytes(data)
    with open_book(path) as book:
        assert book.file_names() == [name_of(JPEG)]
        assert book.file(name_of(JPEG)) == JPEG
    assert (folder / name_of(JPEG)[:2] / name_of(JPEG)).exists()


@pytest.mark.parametrize(("data", "kind"), [(JPEG, "jpg"), (HEIC, "heic"), (M4A, "m4a"),
                                            (b"RIFF\0\0\0\0WEBPVP8 ", "webp")])
def test_what_a_file_is_is_told_by_its_first_bytes(data: bytes, kind: str) -> None:
    assert kind_of(data) == kind


@pytest.mark.parametrize("data", [
    b"", b"MZ\x90\x00", b"<svg onload=alert(1)>", b"%PDF-1.7", b"\x00\x00\x00\x18ftypavif",
    b"\x00\x00\x00\x18ftyphevc", b"GIF89a", b"<!doctype html>"])
def test_what_is_neither_picture_nor_sound_is_refused_with_what_is_taken(data: bytes) -> None:
    with pytest.raises(InputError, match="JPEG, PNG, WebP, HEIC"):
        kind_of(data)


@pytest.mark.parametrize(("codec", "dots", "options"), [
    ("png", "rgb24", {}), ("mjpeg", "yuvj420p", {}), ("libwebp", "yuv420p", {}), ("libwebp", "bgra", {"lossless": "1"}),
    ("libwebp", "yuva420p", {})])
def test_a_photo_s_size_is_read_as_others_write_it(codec: str, dots: str, options: dict[str, str]) -> None:
    encoder: Any = av.CodecContext.create(codec, "w")
    encoder.width, encoder.height, encoder.pix_fmt = 642, 358, dots
    encoder.time_base = Fraction(1, 25)
    encoder.options = options
    frame = av.VideoFrame(642, 358, dots)
    for plane in frame.planes:
        plane.update(bytes(plane.buffer_size))
    frame.pts = 0
    photo = b"".join(bytes(packet) for packet in (*encoder.encode(frame), *encoder.encode(None)))
    assert kind_of(photo) in ("png", "jpg", "webp")
    assert size_of(photo) == (642, 358)


@pytest.mark.parametrize("data", [
    b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\x00\x00\xff\xff\x00\x00\xff\xff" + bytes(40),
    b"\xff\xd8\xff\xe0\x00\x04ab\xff\xc0\x00\x11\x08\xff\xff\xff\xff\x03" + bytes(40),
    b"\xff\xd8\xff\xc0\x00\x04\x08\x00\xff\xff\xc2\x00\x11\x08\xff\xff\xff\xff\x03" + bytes(40),
    b"RIFF\x40\x00\x00\x00WEBPVP8X\x0a\x00\x00\x00\x10\x00\x00\x00\xff\xff\xff\xff\xff\xff" + bytes(40)])
def test_a_photo_that_opens_out_to_gigabytes_is_refused(book: Store, data: bytes) -> None:
    with pytest.raises(InputError, match="take it smaller"):
        book.keep_file(name_of(data), data)


@given(st.binary(max_size=80), st.sampled_from([b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"RIFF\0\0\0\0WEBP", b""]))
def test_no_bytes_break_the_reading_of_a_size(rest: bytes, start: bytes) -> None:
    width, height = size_of(start + rest)
    assert width >= 0 <= height
