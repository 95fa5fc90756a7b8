"""Writing files: all or none, and only a file, or nothing, is ever replaced."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import threading
from functools import partial
from pathlib import Path

import pytest

from squeeze.show.write import STDOUT, CannotWrite, check_places, is_stream, write_all

pytestmark = pytest.mark.skipif(os.name != "posix", reason="files as POSIX has them")


def put(part: Path, text: str = "new") -> None:
    part.write_text(text)


def test_a_symlink_is_followed(tmp_path):
    (tmp_path / "there").mkdir()
    target, link = tmp_path / "there" / "a.json", tmp_path / "link.json"
    link.symlink_to(target)
    for text in ("first", "second"):  # to nothing, then to a file
        check_places([link])
        write_all({link: partial(put, text=text)})
        assert link.is_symlink()
        assert target.read_text() == text
    assert list(target.parent.iterdir()) == [target]


def test_a_symlink_to_itself_is_told(tmp_path):
    (tmp_path / "a").symlink_to(tmp_path / "a")
    with pytest.raises(CannotWrite, match="link that leads back to itself"):
        check_places([tmp_path / "a"])
    with pytest.raises(CannotWrite):
        write_all({tmp_path / "a": put})
    assert (tmp_path / "a").is_symlink()


def test_a_pipe_is_written_to_and_stays(tmp_path):
    pipe, got = tmp_path / "pipe", []
    os.mkfifo(pipe)
    reader = threading.Thread(target=lambda: got.append(pipe.read_text()))
    reader.start()
    check_places([pipe])
    write_all({pipe: put})
    reader.join(timeout=10)
    assert got == ["new"]
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    assert list(tmp_path.iterdir()) == [pipe]


def device(folder: Path, minor: int, name: str) -> Path:
    """Return a device like /dev/null (3) or /dev/full (7): of our own, for root might lose it."""
    if os.geteuid() != 0:
        return Path("/dev") / name
    path = folder / name
    try:
        os.mknod(path, 0o666 | stat.S_IFCHR, os.makedev(1, minor))
        path.read_bytes() if minor == 3 else None
    except OSError:
        pytest.skip("no devices can be made here")
    return path


def test_a_device_is_written_to_and_stays(tmp_path):
    null = device(tmp_path, 3, "null")
    check_places([null, null])  # two things may well go to nowhere
    write_all({null: put})
    assert stat.S_ISCHR(null.stat().st_mode)


def test_a_full_device_is_told_and_stays(tmp_path):
    full, beside = device(tmp_path, 7, "full"), tmp_path / "a.json"
    with pytest.raises(CannotWrite, match="full: cannot be written: the disk is full"):
        write_all({beside: put, full: put})
    assert stat.S_ISCHR(full.stat().st_mode)
    assert not beside.exists()


def test_what_is_neither_file_nor_stream_is_refused(tmp_path, monkeypatch):
    import socket

    with socket.socket(socket.AF_UNIX) as ear:
        monkeypatch.chdir(tmp_path)  # names of sockets are short
        ear.bind("ear")
        with pytest.raises(CannotWrite, match="neither a file nor a stream"):
            check_places([tmp_path / "ear"])


@pytest.mark.parametrize("name", ["n" * 300, "n" * 300 + ".png", "/".join(["n" * 200] * 30)])
def test_a_name_over_the_limit_is_told(tmp_path, name):
    with pytest.raises(CannotWrite, match="the name is too long"):
        check_places([tmp_path / name])
    with pytest.raises(CannotWrite, match="the name is too long"):
        write_all({tmp_path / name: put})
    assert list(tmp_path.iterdir()) == []


def test_the_longest_name_that_fits_is_written(tmp_path):
    path = tmp_path / ("n" * 255)
    check_places([path])
    write_all({path: put})
    assert path.read_text() == "new"


def test_a_name_with_a_null_byte_is_told(tmp_path):
    with pytest.raises(CannotWrite, match="null byte"):
        write_all({tmp_path / "a\0b": put})


def test_rights_of_a_file_that_is_replaced_are_kept(tmp_path):
    secret, fresh = tmp_path / "secret", tmp_path / "fresh"
    secret.write_text("old")
    secret.chmod(0o600)
    before = os.umask(0o027)
    try:
        write_all({secret: put, fresh: put})
    finally:
        os.umask(before)
    assert [stat.S_IMODE(path.stat().st_mode) for path in (secret, fresh)] == [0o600, 0o640]


def test_a_place_that_is_write_protected_is_told(plain_user):
    folder, file = plain_user.folder / "folder", plain_user.folder / "file"
    with plain_user:
        folder.mkdir(mode=0o500)
        file.write_text("mine")
        file.chmod(0o400)
        for place in (folder / "a", file):
            with pytest.raises(CannotWrite, match="write-protected"):
                check_places([place])
            with pytest.raises(CannotWrite, match="write-protected"):
                write_all({place: put})
        assert file.read_text() == "mine"


def test_another_error_of_a_writer_leaves_nothing(tmp_path):
    def fail(part: Path) -> None:
        part.write_text("half")
        raise ValueError("no such glyph")

    with pytest.raises(ValueError, match="no such glyph"):
        write_all({tmp_path / "a": fail})
    assert list(tmp_path.iterdir()) == []


WRITE = (
    "import sys; from pathlib import Path; from squeeze.show.write import write_all;"
    "print('words'); write_all({Path(sys.argv[1]): lambda part: part.write_text('new')});"
    "print('more')"
)


@pytest.mark.parametrize("name", ["-", "/dev/stdout"])
def test_standard_output_as_a_file_is_not_replaced(tmp_path, name):
    """`--json /dev/stdout > file`: what went before and comes after stays there."""
    if name != "-" and not os.path.exists(name):
        pytest.skip(f"no {name} here")
    out = tmp_path / "out"
    with open(out, "w") as stream:
        subprocess.run([sys.executable, "-c", WRITE, name], stdout=stream, check=True)
    assert out.read_text() == "words\nnewmore\n"
    assert is_stream(STDOUT)


def test_two_outputs_cannot_share_standard_output():
    with pytest.raises(CannotWrite, match="two things"):
        check_places([STDOUT, STDOUT])
