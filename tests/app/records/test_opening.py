"""A survey opens wherever it lies, and says plainly when it is for reading alone."""

import os
import shutil
import sqlite3
import stat
import tempfile
import traceback
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from app.records import opening
from app.records.connection import connect, set_journal
from app.records.errors import (
    RecordsDamagedError,
    RecordsError,
    RecordsReadOnlyError,
)
from app.records.file_system import LockImpossibleError, take_lock, type_of_mount
from app.records.opening import ELSEWHERE, NO_LOCKS, NO_RIGHTS
from app.records.record_book import create_survey, open_survey
from tests.app.sample_surveys import NOW, make_lines, write_photo

NOBODY = 65534


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Give a closed survey with two readings."""
    place = tmp_path / "survey"
    with create_survey(place, id="s", now=NOW) as book:
        book.keep_readings(make_lines(write_photo(tmp_path), (6.1, 6.2)), "P1", NOW)
    return place


def test_a_new_survey_needs_an_empty_folder(tmp_path: Path, folder: Path) -> None:
    """What is there is never written over."""
    with pytest.raises(RecordsError, match="not empty"):
        create_survey(folder, id="x", now=NOW)
    (tmp_path / "half").mkdir()
    (tmp_path / "half" / ".survey.sqlite.part").write_bytes(b"cut off")
    (tmp_path / "half" / "photos").mkdir()
    create_survey(tmp_path / "half", id="x", now=NOW).close()  # what a kill has left is no obstacle


def test_a_folder_without_a_survey(tmp_path: Path) -> None:
    """Said plainly, and nothing is made."""
    with pytest.raises(RecordsError, match="There is no survey in"):
        open_survey(tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("content", [b"", b"no database at all", b"SQLite format 3\0" + b"x" * 90])
def test_a_file_that_is_no_survey(tmp_path: Path, content: bytes) -> None:
    """A damaged or foreign file is refused, and is not touched."""
    path = tmp_path / "survey.sqlite"
    path.write_bytes(content)
    with pytest.raises(RecordsDamagedError):
        open_survey(tmp_path)
    assert path.read_bytes() == content


def test_another_programs_database(tmp_path: Path) -> None:
    """Its tables are not taken for a survey's."""
    with closing(sqlite3.connect(tmp_path / "survey.sqlite")) as db:
        db.execute("CREATE TABLE t (x)")
    with pytest.raises(RecordsDamagedError, match="holds no survey"):
        open_survey(tmp_path)


def test_the_second_one_reads(folder: Path) -> None:
    """It says why, sees what the first writes, and can write once the first is gone."""
    with open_survey(folder) as first, open_survey(folder) as second:
        assert first.read_only_because is None
        assert second.read_only_because == ELSEWHERE
        with pytest.raises(RecordsReadOnlyError, match="open in another window"):
            second.withdraw(1, reason="x", person="P1", now=NOW)
        with pytest.raises(RecordsReadOnlyError):
            second.keep_readings((), "P1", NOW)
        first.withdraw(1, reason="x", person="P1", now=NOW)
        assert second.count() == 1
    with open_survey(folder) as third:
        assert third.is_writable


def test_a_closed_survey_is_one_file_and_photos(folder: Path) -> None:
    """Everything is in the database's file, in a mode that opens read-only anywhere."""
    assert {path.name for path in folder.iterdir()} == {"survey.sqlite", "survey.lock", "photos"}
    assert (folder / "survey.sqlite").read_bytes()[18:20] == b"\x01\x01"


def test_write_ahead_on_a_local_disk_and_not_on_a_share(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The journal is the one that is safe there; every write reaches the disk."""
    with open_survey(folder) as book:
        assert book._db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert book._db.execute("PRAGMA synchronous").fetchone() == (2,)
        shutil.copytree(folder, folder.with_name("cut off"))  # in write-ahead mode, unfinished
    monkeypatch.setattr(opening, "on_network", lambda _: True)
    for place in (folder, folder.with_name("cut off")):
        with open_survey(place) as book, open_survey(place) as other:
            assert book._db.execute("PRAGMA journal_mode").fetchone() == ("delete",)
            book.withdraw(1, reason="x", person="P1", now=NOW)
            assert (book.count(), other.count()) == (1, 1)
            assert not list(place.glob("*-wal"))


def test_a_share_is_read_from_a_copy_while_it_is_written_ahead(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Shared memory does not reach over the network: the state at opening is shown."""
    with open_survey(folder) as book:
        book.withdraw(1, reason="x", person="P1", now=NOW)
        monkeypatch.setattr(opening, "on_network", lambda _: True)
        with open_survey(folder, readonly=True) as other:
            assert other.count() == 1
            assert Path(other._db.execute("PRAGMA database_list").fetchone()[2]).parent != folder


MOUNTS = """/dev/sda1 / ext4 rw 0 0
tmpfs /run tmpfs rw 0 0
server:/data /mnt/lab nfs4 rw 0 0
/dev/sdb1 /mnt/lab/local ext4 rw 0 0
//server/share /mnt/my\\040share cifs rw 0 0
host /home/user/phone fuse.sshfs rw 0 0
/dev/sdc1 /media/stick fuseblk rw 0 0
odd line
"""


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/home/user", "ext4"),
        ("/mnt/lab", "nfs4"),
        ("/mnt/lab/survey", "nfs4"),
        ("/mnt/laboratory", "ext4"),
        ("/mnt/lab/local/survey", "ext4"),
        ("/mnt/my share/a", "cifs"),
        ("/home/user/phone/a", "fuse.sshfs"),
        ("/media/stick/a", "fuseblk"),
    ],
)
def test_the_file_system_is_told_from_the_mounts(path: str, kind: str) -> None:
    """The innermost mount counts, and whole names only."""
    assert type_of_mount(path, MOUNTS) == kind
    assert opening.on_network.__module__ == "app.records.file_system"


def test_a_drive_without_locks_is_read_only(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Better read-only than two writers."""

    def impossible(_: Path) -> None:
        raise LockImpossibleError("no locks")

    monkeypatch.setattr(opening, "take_lock", impossible)
    with open_survey(folder) as book:
        assert book.read_only_because == NO_LOCKS
        assert book.count() == 2


def test_a_lock_file_without_a_program_is_no_lock(folder: Path) -> None:
    """The lock is the system's: a file that was copied or left behind means nothing."""
    (folder / "survey.lock").write_bytes(b"left behind")
    with open_survey(folder) as book:
        assert book.is_writable
        assert take_lock(folder / "survey.lock") is None


def test_moved_and_zipped_it_still_opens(folder: Path, tmp_path: Path) -> None:
    """Nothing in it knows where it lies, and odd names do no harm."""
    place = tmp_path / "a ?#%25 ü"
    folder.rename(place)
    with open_survey(place) as book:
        assert book.check().is_sound
    packed = shutil.make_archive(str(tmp_path / "packed"), "zip", place)
    with zipfile.ZipFile(packed) as archive:
        archive.extractall(tmp_path / "unpacked")
    with open_survey(tmp_path / "unpacked") as book:
        assert book.is_writable
        assert book.check().is_sound
        assert book.count() == 2


@pytest.mark.parametrize("with_shm", [True, False])
def test_a_copy_made_while_it_was_open_loses_nothing(folder: Path, with_shm: bool) -> None:
    """As after a power cut: what is only in the journal file is brought in."""
    copy = folder.with_name("copy")
    with open_survey(folder) as book:
        book.withdraw(1, reason="x", person="P1", now=NOW)
        shutil.copytree(folder, copy)
    if not with_shm:
        (copy / "survey.sqlite-shm").unlink()
    with open_survey(copy, readonly=True) as book:
        assert book.count() == 1
    with open_survey(copy) as book:
        assert book.count() == 1
        assert book.check().is_sound


def as_nobody(action: Callable[[], object]) -> None:
    """Do something without the rights of the system's owner, in a child of this program."""
    if os.geteuid() != 0:
        action()
        return
    child = os.fork()
    if child == 0:
        code = 1
        try:
            os.setuid(NOBODY)
            action()
            code = 0
        except BaseException:  # noqa: BLE001 - the child must not go on as a test run
            traceback.print_exc()
        finally:
            os._exit(code)
    _, status = os.waitpid(child, 0)
    assert status == 0


@pytest.fixture
def locked_place(folder: Path) -> Iterator[Path]:
    """Give a survey in a folder that nobody may write to, cut off in the middle of work."""
    place = Path(tempfile.mkdtemp())
    with open_survey(folder) as book:
        book.withdraw(1, reason="x", person="P1", now=NOW)
        shutil.copytree(folder, place / "survey")
    for path in (place, *place.rglob("*")):
        path.chmod(stat.S_IRUSR | stat.S_IRGRP | stat.S_IROTH | (0o111 if path.is_dir() else 0))
    yield place / "survey"
    for path in (place, *place.rglob("*")):
        path.chmod(0o755)
    shutil.rmtree(place)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs POSIX rights")
@pytest.mark.parametrize("left", ["all", "no shm", "nothing"])
def test_a_read_only_folder_opens_read_only(locked_place: Path, left: str) -> None:
    """With all readings, whatever a cut-off program left beside the database."""
    locked_place.chmod(0o755)
    if left != "all":
        (locked_place / "survey.sqlite-shm").unlink()
    if left == "nothing":
        with closing(connect(locked_place / "survey.sqlite", "rw")) as db:
            db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        for path in locked_place.glob("survey.sqlite-*"):
            path.unlink(missing_ok=True)
        assert (locked_place / "survey.sqlite").read_bytes()[18:20] == b"\x02\x02"
    locked_place.chmod(0o555)

    def look() -> None:
        with open_survey(locked_place) as book:
            assert book.read_only_because == NO_RIGHTS
            assert book.count() == 1
            assert book.check().is_sound

    as_nobody(look)


def test_an_old_file_in_write_ahead_mode_is_turned_back_without_shared_memory(
    tmp_path: Path,
) -> None:
    """As it must be on a share, which has none."""
    path = tmp_path / "x.sqlite"
    with closing(connect(path, "rwc")) as db:
        set_journal(db, network=False)
        db.execute("CREATE TABLE t (x)")
        with closing(connect(path, "rw")) as other:
            assert other.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    with closing(connect(path, "rw")) as db:
        set_journal(db, network=True)
        assert db.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        assert db.execute("PRAGMA locking_mode").fetchone() == ("normal",)
