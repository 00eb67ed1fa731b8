"""Reading is bounded and stays in its folder; writing is whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from pneudraw import files


def read(path: Path, data: bytes) -> str:
    path.write_bytes(data)
    return files.read_text(path)


def test_text_is_utf8_with_or_without_a_byte_order_mark(tmp_path: Path) -> None:
    assert read(tmp_path / "a", "Kühler ✓\r\n".encode()) == "Kühler ✓\r\n"
    assert read(tmp_path / "b", b"\xef\xbb\xbfparts\n") == "parts\n"
    assert read(tmp_path / "c", b"") == ""


def test_what_is_no_text_is_refused_with_the_place(tmp_path: Path) -> None:
    with pytest.raises(files.UnreadableError, match=r"not UTF-8 text \(byte 6\)"):
        read(tmp_path / "a", b"parts\n\xff\xfe")


def test_a_file_may_have_a_megabyte_and_no_byte_more(tmp_path: Path) -> None:
    assert len(read(tmp_path / "a", b"#" * files.LARGEST)) == files.LARGEST
    with pytest.raises(files.UnreadableError, match="larger than 1000 kB"):
        read(tmp_path / "a", b"#" * (files.LARGEST + 1))


def test_only_regular_files_are_read(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "circle").symlink_to("circle")
    for name, why in (
        (".", "not a regular file"),
        ("pipe", "not a regular file"),
        ("nothing", "no such file"),
        ("x" * 300, "."),
        ("circle", "."),
    ):
        with pytest.raises(files.UnreadableError, match=why):
            files.read_text(tmp_path / name)
    with pytest.raises(files.UnreadableError):
        files.read_text(Path("/dev/zero"))


def test_a_name_stays_in_its_folder(tmp_path: Path) -> None:
    (tmp_path / "in/deep").mkdir(parents=True)
    (tmp_path / "in/out").symlink_to(tmp_path)
    (tmp_path / "in/self").symlink_to(tmp_path / "in/deep")
    folder = tmp_path / "in"
    assert files.inside(folder, "a.pneu") == folder / "a.pneu"
    assert files.inside(folder, "deep/../a.pneu") == folder / "a.pneu"
    assert files.inside(folder, "self/a.pneu") == folder / "deep/a.pneu"
    assert files.inside(folder, "../a.pneu", folder / "deep") == folder / "a.pneu"
    for name in ("", "../a", "deep/../../a", "/etc/passwd", str(folder / "a"), "out/a", "a\0b"):
        assert files.inside(folder, name) is None, name
    assert files.inside(folder, "../../a", folder / "deep") is None


def test_writing_replaces_the_file_and_keeps_its_mode(tmp_path: Path) -> None:
    path = tmp_path / "a.svg"
    files.write(path, "one ✓")
    path.chmod(0o640)
    files.write(path, b"two")
    assert path.read_bytes() == b"two"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert os.listdir(tmp_path) == ["a.svg"]


def test_a_new_file_gets_the_mode_of_any_other(tmp_path: Path) -> None:
    files.write(tmp_path / "a", "x")
    (tmp_path / "b").write_text("x")
    assert (tmp_path / "a").stat().st_mode == (tmp_path / "b").stat().st_mode


def test_a_link_is_followed_and_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").write_text("old")
    (tmp_path / "link").symlink_to("real")
    files.write(tmp_path / "link", "new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_text() == "new"


def test_when_the_disk_refuses_the_old_file_stays_and_nothing_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.svg"
    path.write_text("old")

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(OSError, match="No space left"):
        files.write(path, "new" * 1000)
    assert path.read_text() == "old"
    assert os.listdir(tmp_path) == ["a.svg"]


def test_where_no_file_can_be_made_nothing_is_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    (tmp_path / "folder").mkdir()
    for target in (tmp_path / "missing/a", tmp_path / "file/a", tmp_path / "folder", tmp_path / ("x" * 300)):
        with pytest.raises(OSError):
            files.write(target, "new")
    assert sorted(os.listdir(tmp_path)) == ["file", "folder"]


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write anywhere")
def test_a_folder_that_is_read_only_stays_as_it_is(tmp_path: Path) -> None:
    folder = tmp_path / "locked"
    folder.mkdir()
    (folder / "a").write_text("old")
    folder.chmod(0o500)
    try:
        with pytest.raises(OSError):
            files.write(folder / "a", "new")
        assert (folder / "a").read_text() == "old"
    finally:
        folder.chmod(0o700)


def test_a_device_is_written_to_and_not_replaced() -> None:
    files.write(Path(os.devnull), "x")
    assert stat.S_ISCHR(os.stat(os.devnull).st_mode)


def test_a_long_name_that_the_disk_takes_is_taken(tmp_path: Path) -> None:
    files.write(tmp_path / ("x" * 250), "y")
    assert os.listdir(tmp_path) == ["x" * 250]
